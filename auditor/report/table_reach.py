"""The ways in to a card, for a terminal: those by which outputs or settings can be touched."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from auditor.facts.reach.way import Proof
from auditor.report.ink import Style
from auditor.report.layout import Cell, Column, Fit, grid
from auditor.report.plain import plain
from auditor.report.reach_view import NONE_EASIER, TITLE, CardReach, Lane
from auditor.report.table_notes import Page
from auditor.report.verdict import counted
from auditor.report.way_words import (
    CHANGES,
    MAY_CHANGE,
    MAY_SWITCH,
    SWITCHES,
    origin_words,
    short_origin_words,
    short_proof_words,
    truth_words,
)

_SHOWN: Final = 16
_WIDE: Final = 110

_ALLOWS: Final[Mapping[str, str]] = {
    SWITCHES: "switches",
    MAY_SWITCH: "may switch",
    CHANGES: "changes",
    MAY_CHANGE: "may change",
}
STYLES: Final[Mapping[Proof, Style]] = {
    Proof.NONE: Style.CRITICAL,
    Proof.WELL_KNOWN: Style.HIGH,
    Proof.FACTORY: Style.HIGH,
    Proof.WEAK: Style.MEDIUM,
    Proof.ADEQUATE: Style.LOW,
    Proof.STRONG: Style.GOOD,
    Proof.DIRECTORY: Style.USUAL,
    Proof.UNKNOWN: Style.USUAL,
}


def reach_block(page: Page, reach: CardReach) -> list[str]:
    """Return the ways in: the sentence, the worst of them, and what the words mean."""
    lanes, more = reach.shown(_SHOWN)
    lines = [page.heading(TITLE, counted(len(reach.ways), "way") + " in"), *page.wrapped(reach.sentence)]
    if lanes:
        lines += grid(_columns(page), [_row(page, lane) for lane in lanes], page.width, page.ink)
    if reach.closing_sentence:
        lines += page.wrapped(reach.closing_sentence)
    return [*lines, *page.wrapped(" ".join(_notes(lanes, more)))]


def _columns(page: Page) -> list[Column]:
    columns = [Column(" "), Column("it"), Column("over", fit=Fit.CUT_END), Column("who", fit=Fit.CUT_END)]
    columns += [Column("proof", fit=Fit.CUT_END), Column("from", fit=Fit.CUT_END)]
    return [*columns, Column("in clear" if page.width >= _WIDE else "clear")]


def _row(page: Page, lane: Lane) -> list[Cell]:
    clear, wide = truth_words(lane.way.in_clear), page.width >= _WIDE
    proof = Cell(short_proof_words(lane.way.grade), STYLES[lane.way.proof])
    return [
        Cell("◆" if lane.is_minimal else " "),
        Cell(_ALLOWS[lane.allows]),
        Cell(", ".join(lane.channels)),
        Cell(plain(", ".join(lane.parties))),
        proof,
        Cell((origin_words if wide else short_origin_words)(lane.way.origin)),
        Cell(clear if wide else clear.removeprefix("not known") or "?"),
    ]


def _notes(lanes: Sequence[Lane], more: int) -> Iterator[str]:
    if any(lane.is_minimal for lane in lanes):
        yield f"◆ {NONE_EASIER}."
    if any(lane.allows in (CHANGES, MAY_CHANGE) for lane in lanes):
        yield "Whoever changes settings can open a way to switch."
    if more:
        yield f"{counted(more, 'more way')}, those that only read among them: --format ways-csv."
