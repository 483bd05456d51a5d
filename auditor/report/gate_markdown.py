"""A gate's decision as Markdown for a pull request: short, details folded away, never too long to post."""

from collections.abc import Iterable, Iterator

from auditor.change.card_change import CardChange
from auditor.change.gate import Decision
from auditor.report.figures import moment_text
from auditor.report.gate_view import (
    BEFORE,
    CAUSES,
    ReasonRow,
    before_lines,
    better_lines,
    heading,
    noted_lines,
    reason_rows,
    verdict_sentence,
    verdict_word,
)
from auditor.report.markdown_text import code, folded, html_code, prose, sentence, table
from auditor.report.verdict import counted
from auditor.report.writer import TOOL, Look, Run

_SHOWN_REASONS = 30
_SHOWN_LINES = 100
_LONGEST = 60_000
"""Bytes: what is posted as a comment has a limit in every forge; our own figure."""


def gate_markdown(decision: Decision, run: Run, look: Look) -> bytes:  # noqa: ARG001 - one look only
    """Return the decision as Markdown of at most 60 000 bytes; it says what it leaves out."""
    text = "\n".join(_head(decision))
    shown = 0
    for card in decision.cards:
        more = "\n".join(["", "", *_card(card, decision)])
        if len((text + more).encode()) > _LONGEST:
            break
        text += more
        shown += 1
    rest = len(decision.cards) - shown
    left_out = [f"… and {counted(rest, 'changed card')} more; the format json has them all."] if rest else []
    made = f"{TOOL} {prose(run.version)}, as of {moment_text(run.as_of)}, {_rulesets(run)}."
    return "\n".join([text, "", *left_out, *([""] if left_out else []), made, ""]).encode()


def _rulesets(run: Run) -> str:
    return ", ".join(f"{prose(each.name)} {prose(each.version)}" for each in run.program.rulesets)


def _head(decision: Decision) -> list[str]:
    lines = [f"## {verdict_word(decision).capitalize()}: {prose(verdict_sentence(decision))}"]
    rows = reason_rows(decision)
    if rows:
        lines += ["", *table(("why", "card", "what"), map(_reason, rows[:_SHOWN_REASONS]))]
    more = len(rows) - _SHOWN_REASONS
    lines += ["", f"… and {counted(more, 'reason')} more, with their cards below."] if more > 0 else []
    unread = list(_listed(BEFORE, before_lines(decision)))
    return [*lines, "", *unread[:-1]] if unread else lines


def _reason(row: ReasonRow) -> tuple[str, ...]:
    why = f"{CAUSES[row.reason.cause]}, {row.badge}" if row.reason.finding else CAUSES[row.reason.cause]
    return f"**{why}**", code(row.card_id) if row.card_id else "", sentence(row.says)


def _card(card: CardChange, decision: Decision) -> list[str]:
    rows = reason_rows(decision)
    own = sum(row.card_id == card.card_id for row in rows)
    untold = [row for row in rows[_SHOWN_REASONS:] if row.card_id == card.card_id]
    holds = f", {counted(own, 'reason')} to hold" if own else ""
    summary = f"{html_code(card.card_id)}: {sentence(heading(card))}{holds}"
    details = [*_details(card, untold, decision)] or ["Why it is held stands in the table above.", ""]
    return folded(summary, details)


def _details(card: CardChange, untold: list[ReasonRow], decision: Decision) -> Iterator[str]:
    """Yield what changed on a card; of its reasons to hold those that the table above has no room for."""
    if card.moves:
        rows = [(sentence(m.title), code(m.before), code(m.after)) for m in card.moves[:_SHOWN_LINES]]
        yield from ("**Settings changed**", "", *table(("setting", "before", "after"), rows), "")
        more = len(card.moves) - _SHOWN_LINES
        yield from (f"… and {counted(more, 'setting')} more.", "") if more > 0 else ()
    yield from _listed("Holds", (f"{row.badge}: {row.says}" for row in untold))
    yield from _listed("New, and does not hold", noted_lines(card, decision))
    yield from _listed("Better", better_lines(card))


def _listed(title: str, texts: Iterable[str]) -> Iterator[str]:
    found = list(texts)
    if not found:
        return
    yield from (f"**{title}**", "", *(f"- {sentence(text)}" for text in found[:_SHOWN_LINES]))
    more = len(found) - _SHOWN_LINES
    yield from (f"- … and {more} more",) if more > 0 else ()
    yield ""
