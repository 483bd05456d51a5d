"""The ways in to a card, for a terminal: those by which outputs or settings can be touched."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from auditor.facts.reach.way import Proof
from auditor.fleet.estate import EstateSummary
from auditor.fleet.reach_sums import From
from auditor.report import reach_estate
from auditor.report.ink import Style
from auditor.report.layout import Cell, Column, Fit, grid, wrap
from auditor.report.plain import plain
from auditor.report.reach_estate import CHANGES_NOTE, EstateReach, estate_reach, unsure_words, without_words
from auditor.report.reach_view import NONE_EASIER, TITLE, CardReach, Lane, reach_of
from auditor.report.table_notes import Page
from auditor.report.verdict import counted
from auditor.report.way_words import (
    CHANGES,
    CHANNELS,
    MAY_CHANGE,
    MAY_SWITCH,
    SWITCHES,
    origin_words,
    short_origin_words,
    short_proof_words,
    truth_words,
)
from auditor.scoring.assessment import CardAssessment

_SHOWN: Final = 16
_SHOWN_CARDS: Final = 10
_SHOWN_CHANGES: Final = 5
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


def card_block(page: Page, assessment: CardAssessment) -> list[str]:
    """Return the ways in to a card: the sentence, the gravest of them, and what the words mean."""
    reach = reach_of(assessment)
    return _card(page, reach) if reach else []


def _card(page: Page, reach: CardReach) -> list[str]:
    lanes, more = reach.shown(_SHOWN)
    lines = [
        page.heading(TITLE, counted(len(reach.ways), "way") + " in"),
        *wrap(plain(reach.sentence), page.width),
    ]
    if lanes:
        lines += grid(_columns(page), [_row(page, lane) for lane in lanes], page.width, page.ink)
    if reach.closing_sentence:
        lines += wrap(reach.closing_sentence, page.width)
    return [*lines, *wrap(" ".join(_notes(lanes, more)), page.width)]


def _columns(page: Page) -> list[Column]:
    columns = [Column(" "), Column("it"), Column("over", fit=Fit.CUT_END), Column("who", fit=Fit.CUT_END)]
    columns += [Column("proof", fit=Fit.CUT_END), Column("from", fit=Fit.CUT_END)]
    return [*columns, Column("in clear" if page.width >= _WIDE else "clear")]


def _row(page: Page, lane: Lane) -> list[Cell]:
    clear, wide = truth_words(lane.way.in_clear), page.width >= _WIDE
    proof = Cell(short_proof_words(lane.way.grade), STYLES[lane.way.proof])
    return [
        Cell("◆" if lane.is_minimal else " "),
        Cell(_ALLOWS[lane.allows] + ("*" if lane.way.condition else "")),
        Cell(", ".join(lane.channels)),
        Cell(plain(", ".join(lane.parties))),
        proof,
        Cell((origin_words if wide else short_origin_words)(lane.way.origin)),
        Cell(clear if wide else clear.removeprefix("not known") or "?"),
    ]


def _notes(lanes: Sequence[Lane], more: int) -> Iterator[str]:
    if any(lane.is_minimal for lane in lanes):
        yield f"◆ {NONE_EASIER}."
    for condition in dict.fromkeys(lane.way.condition for lane in lanes if lane.way.condition):
        yield f"* only {condition}."
    if any(lane.allows in (CHANGES, MAY_CHANGE) for lane in lanes):
        yield "Whoever changes settings can open a way to switch."
    if more:
        yield f"{counted(more, 'more way')}, those that only read among them: --format ways-csv."


def estate_block(page: Page, summary: EstateSummary) -> list[str]:
    """Return cards by their easiest way, those with the easiest, and what closes the most ways."""
    reach = estate_reach(summary)
    if reach is None:
        return []
    cards = f"{reach.sums.open} of {counted(reach.sums.cards, 'card')}"
    lines = [page.heading(reach_estate.TITLE, f"a sure way on {cards}"), *wrap(reach.sentence, page.width)]
    if not reach.sums.open:
        return lines
    lines += ["", *_by_proof(page, reach), "", *_easiest_cards(page, reach)]
    return [*lines, "", *_changes(page, reach)]


def _by_proof(page: Page, reach: EstateReach) -> list[str]:
    columns = [Column("easiest way asks for", fit=Fit.CUT_END), Column("cards", number=True)]
    columns += [Column(_NARROW_PLACES[place], number=True) for place in reach.places]
    rows = [
        [
            Cell(row.words, STYLES[row.proof]),
            Cell(str(row.cards)),
            *(Cell(str(n) if n else "") for n in row.counts),
        ]
        for row in reach.rows
    ]
    blank = [Cell("")] * len(reach.places)
    rows += [[Cell(words), Cell(str(cards)), *blank] for words, cards in reach.rest]
    return grid(columns, rows, page.width, page.ink)


_NARROW_PLACES: Final[Mapping[From, str]] = {
    From.ANYWHERE: "anywhere",
    From.LISTED: "listed",
    From.NOT_KNOWN: "not known",
    From.OUTBOUND: "own call",
    From.RADIO: "radio",
    From.PRESENCE: "at card",
}


def _easiest_cards(page: Page, reach: EstateReach) -> list[str]:
    columns = [
        Column("card", fit=Fit.CUT_END),
        Column("over", fit=Fit.CUT_END),
        Column("who", fit=Fit.CUT_END),
    ]
    columns += [
        Column("proof", fit=Fit.CUT_END),
        Column("from", fit=Fit.CUT_END),
        Column("ways", number=True),
    ]
    rows = [
        [
            Cell(plain(each.card.id)),
            Cell(CHANNELS[each.way.channel]),
            Cell(plain(each.way.party)),
            Cell(short_proof_words(each.way.grade), STYLES[each.way.proof]),
            Cell((origin_words if page.width >= _WIDE else short_origin_words)(each.way.origin)),
            Cell(str(each.ways)),
        ]
        for each in reach.easiest(_SHOWN_CARDS)
    ]
    more = reach.not_shown(_SHOWN_CARDS)
    rest = page.wrapped(f"… and {counted(more, 'more card')}: --format ways-csv.") if more else []
    return [*grid(columns, rows, page.width, page.ink), *rest]


def _changes(page: Page, reach: EstateReach) -> list[str]:
    columns = [Column("one change: set to false", fit=Fit.CUT_START), Column("closes", number=True)]
    columns.append(Column("unsure", number=True))
    columns += [Column("cards", number=True), Column("no sure way on", number=True)]
    rows = [
        [
            Cell(each.pointer),
            *map(Cell, (str(each.closes), unsure_words(each), str(each.cards), without_words(each))),
        ]
        for each in reach.changes[:_SHOWN_CHANGES]
    ]
    return [*grid(columns, rows, page.width, page.ink), *wrap(CHANGES_NOTE, page.width)]
