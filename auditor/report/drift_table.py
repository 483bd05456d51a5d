"""Drift for a terminal: the sums, then card by card what moved, what matters first."""

from collections.abc import Iterable, Iterator

from auditor.change.drift import CardDrift, Standing
from auditor.report.drift_view import (
    UNREAD,
    WORDS,
    Drift,
    fault_lines,
    improved_lines,
    marked_text,
    moved_line,
    notes_of,
    sentence_of,
    word_of,
    worse_lines,
)
from auditor.report.ink import Ink, Style
from auditor.report.layout import wrap
from auditor.report.plain import plain
from auditor.report.table_notes import Page, run_line
from auditor.report.verdict import counted
from auditor.report.writer import Look, Run

_SHOWN_CARDS, _SHOWN_LINES = 100, 40
_STYLES = {
    Standing.MATTERS: Style.HIGH,
    Standing.MARK_NOT_WHOLE: Style.CRITICAL,
    Standing.NO_MARK: Style.MEDIUM,
}


def drift_table(drift: Drift, run: Run, look: Look) -> bytes:
    """Return the drift as text."""
    page = Page(run, look.columns, Ink(look.colour), look.tells_faults)
    blocks = ("\n".join(block) + "\n" for block in _blocks(page, drift) if block)
    return "\n".join(blocks).encode()


def _blocks(page: Page, drift: Drift) -> Iterator[list[str]]:
    word = word_of(drift).upper()
    lines = wrap(f"{word}: {sentence_of(drift)}", page.width)
    style = Style.GOOD if word == "STEADY" else Style.HIGH
    yield [page.ink(word, style) + lines[0].removeprefix(word), *lines[1:], *run_line(page)]
    yield _unread(page, drift)
    for card in drift.told[:_SHOWN_CARDS]:
        yield _card(page, card)
    more = len(drift.told) - _SHOWN_CARDS
    yield [f"… and {counted(more, 'card')} more; --format json has them all."] if more > 0 else []
    yield _unheld(page, drift)


def _card(page: Page, card: CardDrift) -> list[str]:
    style = _STYLES.get(card.standing, Style.USUAL)
    lines = [
        page.heading(plain(card.card_id), plain(marked_text(card))),
        page.ink(WORDS[card.standing], style),
    ]
    lines += _section(page, "note", notes_of(card))
    lines += _section(page, "moved", map(moved_line, card.moves))
    lines += _section(page, "worse", worse_lines(card))
    return lines + _section(page, "better", improved_lines(card))


def _section(page: Page, name: str, texts: Iterable[str]) -> list[str]:
    found = list(texts)
    lines: list[str] = []
    for text in found[:_SHOWN_LINES]:
        first, *rest = page.wrapped(text, " " * 8)
        lines += [f"{name if not lines else '':<8}{first[8:]}", *rest]
    more = len(found) - _SHOWN_LINES
    return [*lines, f"{'':<8}… and {more} more"] if more > 0 else lines


def _unread(page: Page, drift: Drift) -> list[str]:
    if not drift.faults:
        return []
    said = [line for text in list(fault_lines(drift))[:_SHOWN_LINES] for line in page.wrapped(text)]
    return [page.heading(UNREAD, str(len(drift.faults))), *said]


def _unheld(page: Page, drift: Drift) -> list[str]:
    if not drift.unheld:
        return []
    names = ", ".join(drift.unheld[:10])
    more = f" and {len(drift.unheld) - 10} more" if len(drift.unheld) > 10 else ""  # noqa: PLR2004 - as many as fit
    said = page.wrapped(f"Of these cards there is a mark, and no record was given: {names}{more}.")
    return [page.heading("Marks without a record", str(len(drift.unheld))), *said]
