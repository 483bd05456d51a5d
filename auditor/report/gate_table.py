"""A gate's decision for a terminal: the verdict, every reason, then card by card what changed."""

from collections.abc import Iterable, Iterator

from auditor.change.card_change import CardChange
from auditor.change.gate import Decision
from auditor.report.gate_view import (
    BEFORE,
    ReasonRow,
    before_lines,
    better_lines,
    heading,
    move_line,
    noted_lines,
    reason_rows,
    verdict_sentence,
    verdict_word,
)
from auditor.report.ink import OF_BAND, Ink, Style
from auditor.report.layout import wrap
from auditor.report.plain import plain
from auditor.report.table_notes import Page, run_line
from auditor.report.verdict import counted
from auditor.report.writer import Look, Run

_INDENT = " " * 15
_BADGE = 13
_SHOWN_CARDS, _SHOWN_LINES, _SHOWN_REASONS = 50, 40, 100


def gate_table(decision: Decision, run: Run, look: Look) -> bytes:
    """Return the decision as text."""
    page = Page(run, look.columns, Ink(look.colour), look.tells_faults)
    blocks = ("\n".join(block) + "\n" for block in _blocks(page, decision) if block)
    return "\n".join(blocks).encode()


def _blocks(page: Page, decision: Decision) -> Iterator[list[str]]:
    yield [*_verdict(page, decision), *run_line(page)]
    yield _reasons(page, decision)
    yield _unread(page, decision)
    for card in decision.cards[:_SHOWN_CARDS]:
        yield _card(page, card, decision)
    more = len(decision.cards) - _SHOWN_CARDS
    yield [f"… and {counted(more, 'changed card')} more; --format json has them all."] if more > 0 else []


def _verdict(page: Page, decision: Decision) -> list[str]:
    word = verdict_word(decision).upper()
    lines = wrap(f"{word}: {verdict_sentence(decision)}", page.width)
    style = Style.HIGH if decision.held else Style.GOOD
    return [page.ink(word, style) + lines[0].removeprefix(word), *lines[1:]]


def _reasons(page: Page, decision: Decision) -> list[str]:
    rows = reason_rows(decision)
    if not rows:
        return []
    lines = [page.heading("Reasons to hold", f"held from {decision.hold_at.value}")]
    for row in rows[:_SHOWN_REASONS]:
        lines += _reason(page, row)
    more = len(rows) - _SHOWN_REASONS
    return (
        [*lines, f"… and {counted(more, 'reason')} more; --format json has them all."] if more > 0 else lines
    )


def _unread(page: Page, decision: Decision) -> list[str]:
    """Return what could not be read before the change; at a terminal, standard error tells it."""
    found = list(before_lines(decision)) if page.tells_faults else []
    if not found:
        return []
    said = [line for text in found[:_SHOWN_LINES] for line in page.wrapped(text)]
    more = len(found) - _SHOWN_LINES
    return [page.heading(BEFORE), *said, *([f"… and {counted(more, 'record')} more"] if more > 0 else [])]


def _reason(page: Page, row: ReasonRow) -> list[str]:
    finding = row.reason.finding
    badge = f"{finding.band.value:<8} {finding.severity.score:>4}" if finding else f"{row.badge:<{_BADGE}}"
    style = OF_BAND[finding.band.value] if finding else Style.STRONG
    on = f"{row.card_id}: " if row.card_id else ""
    first, *rest = page.wrapped(f"{on}{row.says}", _INDENT)
    return [page.ink(badge, style) + first[_BADGE:], *rest]


def _card(page: Page, card: CardChange, decision: Decision) -> list[str]:
    lines = [page.heading(plain(card.card_id), heading(card))]
    lines += _section(page, "changed", map(move_line, card.moves))
    lines += _section(page, "noted", noted_lines(card, decision))
    return lines + _section(page, "better", better_lines(card))


def _section(page: Page, name: str, texts: Iterable[str]) -> list[str]:
    found = list(texts)
    lines: list[str] = []
    for text in found[:_SHOWN_LINES]:
        first, *rest = page.wrapped(text, " " * 10)
        lines += [f"{name if not lines else '':<10}{first[10:]}", *rest]
    more = len(found) - _SHOWN_LINES
    return [*lines, f"{'':<10}… and {more} more"] if more > 0 else lines
