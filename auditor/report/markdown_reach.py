"""The ways in to a card as Markdown: those by which outputs or settings can be touched."""

from typing import Final

from auditor.report.markdown_text import code, prose, table
from auditor.report.reach_view import NONE_EASIER, CardReach, Lane
from auditor.report.verdict import counted
from auditor.report.way_words import addresses_words, notes_of, origin_words, proof_words, truth_words

_SHOWN: Final = 40
_COLUMNS: Final = ("", "it allows", "over", "who", "proof", "in clear", "from where", "by which setting")


def reach_lines(reach: CardReach) -> list[str]:
    """Return the ways in: a sentence, the table, what it leaves out."""
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
