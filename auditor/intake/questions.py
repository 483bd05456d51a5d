"""Which questions a visit has for a record in the making, and which of them are open; words none of them."""

from collections.abc import Iterable, Iterator, Sequence

from auditor.record.pointer import join, split, value_at
from auditor.record.settings import Settings
from auditor.record.visit import VISIT, Spot, is_known, spots_of

ANOTHER = "-"
"""The last token of a question whether a list has one more member (RFC 6901 section 4)."""


def next_open(settings: Settings, at: str) -> str:
    """Return the pointer of the first open question after one, or an empty text."""
    here = split(at)
    after = iter(sequence(settings))
    if at:
        for spot in after:
            if spot.tokens == here:
                break
    return next((join(spot.tokens) for spot in after if _is_open(spot, settings, here)), "")


def _is_open(spot: Spot, settings: Settings, here: Sequence[str]) -> bool:
    """Tell whether to ask; after a member was asked about, also whether there is another."""
    if spot.tokens[-1] != ANOTHER:
        return not is_known(spot, settings)
    inside = tuple(here[: len(spot.tokens) - 1]) == spot.tokens[:-1]
    return inside or value_at(settings, spot.tokens[:-1]) is None


def sequence(settings: Settings) -> Iterator[Spot]:
    """Yield every question about these settings; that for another member comes after the members."""
    for stop in VISIT:
        for section in stop.sections:
            yield from _lists_last(spots_of(section, settings))


def _lists_last(spots: Iterable[Spot]) -> Iterator[Spot]:
    opened: list[Spot] = []
    for spot in spots:
        while opened and spot.tokens[: len(opened[-1].tokens)] != opened[-1].tokens:
            yield _another_of(opened.pop())
        if spot.leaf.kind == "members":
            opened.append(spot)
        else:
            yield spot
    while opened:
        yield _another_of(opened.pop())


def _another_of(spot: Spot) -> Spot:
    return Spot(spot.leaf, (*spot.tokens, ANOTHER))


def spot_at(settings: Settings, at: str) -> Spot | None:
    """Return the question at a pointer, or None if there is none."""
    here = split(at)
    return next((spot for spot in sequence(settings) if spot.tokens == here), None) if at else None
