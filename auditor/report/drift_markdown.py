"""Drift as Markdown: the sums, a table of the cards, and each card folded away."""

from collections.abc import Iterable, Iterator

from auditor.change.drift import CardDrift, Moved
from auditor.report.drift_view import (
    UNREAD,
    WORDS,
    Drift,
    accepted_lines,
    fault_lines,
    improved_lines,
    marked_text,
    notes_of,
    sentence_of,
    word_of,
    worse_lines,
)
from auditor.report.figures import moment_text
from auditor.report.markdown_text import code, folded, html_code, prose, sentence, table
from auditor.report.verdict import counted
from auditor.report.writer import TOOL, Look, Run

_SHOWN_CARDS, _SHOWN_LINES = 50, 100


def drift_markdown(drift: Drift, run: Run, look: Look) -> bytes:  # noqa: ARG001 - one look only
    """Return the drift as Markdown."""
    lines = [f"## {word_of(drift).capitalize()}: {sentence_of(drift)}"]
    unread = list(_listed(UNREAD, fault_lines(drift)))
    lines += ["", *unread[:-1]] if unread else []
    if drift.told:
        columns = ("card", "stands", "marked", "moves:", "outcomes changed")
        lines += ["", *table(columns, map(_row, drift.told[:_SHOWN_CARDS]))]
    for card in drift.told[:_SHOWN_CARDS]:
        lines += ["", *_card(card)]
    more = len(drift.told) - _SHOWN_CARDS
    lines += ["", f"… and {counted(more, 'card')} more; the format json has them all."] if more > 0 else []
    if drift.unheld:
        names = ", ".join(map(code, drift.unheld[:_SHOWN_LINES]))
        lines += ["", f"Marks without a record: {names}."]
    return "\n".join(
        [*lines, "", f"{TOOL} {prose(run.version)}, as of {moment_text(run.as_of)}.", ""]
    ).encode()


def _row(card: CardDrift) -> tuple[str, ...]:
    stands, marked = WORDS[card.standing], sentence(marked_text(card))
    return code(card.card_id), stands, marked, str(len(card.moves)), ", ".join(map(code, card.outcomes))


def _card(card: CardDrift) -> list[str]:
    return folded(f"{html_code(card.card_id)}: {WORDS[card.standing]}", _details(card))


def _details(card: CardDrift) -> Iterator[str]:
    yield from _listed("Note", notes_of(card))
    if card.moves:
        shown = card.moves[:_SHOWN_LINES]
        rows = [(sentence(m.move.title), code(m.move.before), code(m.move.after), _weight(m)) for m in shown]
        yield from (*table(("setting", "as marked", "now", "changes the outcome of"), rows), "")
        more = len(card.moves) - len(shown)
        yield from (f"… and {counted(more, 'setting')} more.", "") if more else ()
    yield from _listed("Worse", worse_lines(card))
    yield from _listed("Better", improved_lines(card))


def _weight(moved: Moved) -> str:
    accepted = "; ".join(accepted_lines(moved))
    return ", ".join(map(code, moved.rules)) + (f" ({sentence(accepted)})" if accepted else "")


def _listed(title: str, texts: Iterable[str]) -> Iterator[str]:
    found = list(texts)[:_SHOWN_LINES]
    yield from (f"**{title}**", "", *(f"- {sentence(text)}" for text in found), "") if found else ()
