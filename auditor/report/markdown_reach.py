"""The ways in to a card as Markdown: those by which outputs or settings can be touched."""

from typing import Final

from auditor.fleet.estate import EstateSummary
from auditor.fleet.reach_sums import ChangeSum, EasiestCard
from auditor.report import reach_estate, reach_view
from auditor.report.markdown_text import code, prose, table
from auditor.report.reach_estate import (
    CHANGES_NOTE,
    CHANGES_TITLE,
    PLACES,
    EstateReach,
    estate_reach,
    unsure_words,
    without_words,
)
from auditor.report.reach_view import NONE_EASIER, CardReach, Lane, reach_of
from auditor.report.verdict import counted
from auditor.report.way_words import (
    CHANNELS,
    addresses_words,
    notes_of,
    origin_words,
    proof_words,
    truth_words,
)
from auditor.scoring.assessment import CardAssessment

_SHOWN: Final = 40
_SHOWN_CARDS: Final = 100
_COLUMNS: Final = ("", "it allows", "over", "who", "proof", "in clear", "from where", "by which setting")


def card_lines(assessment: CardAssessment, heading: str) -> list[str]:
    """Return the ways in to a card under a heading: a sentence, the table, what it leaves out."""
    reach = reach_of(assessment)
    return [heading, "", *_card(reach), ""] if reach else []


def _card(reach: CardReach) -> list[str]:
    lanes, more = reach.shown(_SHOWN)
    said = (f"{reach.sums}.", reach.sentence, reach.closing_sentence)
    lines = [prose(" ".join(filter(None, said)))]
    if lanes:
        lines += ["", *table(_COLUMNS, map(_row, lanes)), "", f"◆ {NONE_EASIER}."]
    if more:
        lines += ["", f"{counted(more, 'more way')}, those that only read among them: format ways-csv."]
    return lines


def _row(lane: Lane) -> tuple[str, ...]:
    way = lane.way
    addresses = addresses_words(way.origin)
    where = prose(origin_words(way.origin)) + (f" ({addresses})" if addresses else "")
    allows = "; ".join((lane.allows, *map(prose, notes_of(way))))
    pointers = dict.fromkeys(each.pointer for each in lane.ways)
    return (
        "◆" if lane.is_minimal else "",
        allows,
        ", ".join(lane.channels),
        ", ".join(map(code, lane.parties)),
        prose(proof_words(way.grade)),
        truth_words(way.in_clear),
        where,
        ", ".join(map(code, pointers)),
    )


def reach_lines(summary: EstateSummary) -> list[str]:
    """Return the section on who can switch: of a single card its ways, of an estate the sums."""
    if summary.whole.cards == 1:
        return card_lines(summary.worst_cards[0], f"## {reach_view.TITLE}")[:-1]
    reach = estate_reach(summary)
    return _estate(reach) if reach else []


def _estate(reach: EstateReach) -> list[str]:
    lines = [f"## {reach_estate.TITLE}", "", prose(reach.sentence)]
    heads = ("easiest way asks for", "cards:", *(f"{PLACES[place]}:" for place in reach.places))
    rows = [(row.words, str(row.cards), *map(str, row.counts)) for row in reach.rows]
    rows += [(words, str(cards), *[""] * len(reach.places)) for words, cards in reach.rest]
    lines += ["", *table(heads, rows)]
    if not reach.sums.open:
        return lines
    cards = ("card", "feeds", "over", "who", "proof", "from where", "ways that switch:")
    lines += ["", *table(cards, map(_easiest, reach.easiest(_SHOWN_CARDS)))]
    if more := reach.not_shown(_SHOWN_CARDS):
        lines += ["", f"… and {counted(more, 'more card')}; the format ways-csv lists every way."]
    changes = (
        "one change",
        "to what",
        "closes ways:",
        "no longer sure:",
        "on cards:",
        "leaves no sure way on:",
    )
    lines += ["", f"### {CHANGES_TITLE}", "", prose(CHANGES_NOTE)]
    return [*lines, "", *table(changes, map(_change, reach.changes))]


def _easiest(each: EasiestCard) -> tuple[str, ...]:
    way = each.way
    return (
        code(each.card.id),
        code(each.card.feeds),
        CHANNELS[way.channel],
        code(way.party),
        proof_words(way.grade),
        prose(origin_words(way.origin)),
        str(each.ways),
    )


def _change(each: ChangeSum) -> tuple[str, ...]:
    pointer, counts = code(each.pointer), (str(each.closes), unsure_words(each), str(each.cards))
    return (pointer, each.change, *counts, without_words(each))
