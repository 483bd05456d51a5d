"""Addresses of an estate that do not go together, in words for every report; decides nothing."""

from collections.abc import Iterator
from typing import Any, Final, NamedTuple

from auditor.fleet.addressing import AddressClashes, CardPlace, Overlap, SharedAddress
from auditor.fleet.estate import EstateSummary
from auditor.report.plain import plain

TITLE: Final = "Addresses that do not go together"
INTRODUCTION: Final = (
    "Of two cards with one address only one is reached, and nobody knows which. Two sites may use the "
    "same private addresses and never meet. Of a subnet inside a wider one, one of the masks is wrong, "
    "unless the two networks are kept apart."
)

_SHOWN_CARDS: Final = 4


class ClashRow(NamedTuple):
    """One clash: what it is, the address or the two subnets, and the cards that have them.

    ``cards`` are ids as the records have them: of an address its first cards, with ``more`` beside
    them; of a subnet the card in it, then the card in the wider one.
    """

    what: str
    where: str
    cards: tuple[str, ...]
    more: int = 0


def clash_rows(summary: EstateSummary, most: int | None = None) -> list[ClashRow]:
    """Return the clashes of an estate, the sure faults first, at most so many."""
    found = summary.addresses
    return [] if found is None else list(_rows(found))[:most]


def clash_count(summary: EstateSummary) -> int:
    """Return how many clashes there are, shown or not."""
    found = summary.addresses
    return 0 if found is None else found.shared_count + found.overlap_count


def clashes_document(summary: EstateSummary) -> dict[str, Any]:
    """Return the clashes as a result document has them; empty where nobody looked."""
    found = summary.addresses
    if found is None:
        return {}
    shared = [
        {
            "address": str(one.address),
            "one_site": one.is_one_site,
            "cards": one.cards,
            "card_ids": [_card(place) for place in one.first_cards],
        }
        for one in found.shared
    ]
    overlaps = [
        {
            "wide": one.wide,
            "narrow": one.narrow,
            "cards": [_card(one.card_in_wide), _card(one.card_in_narrow)],
        }
        for one in found.overlaps
    ]
    counts = {"shared_count": found.shared_count, "overlap_count": found.overlap_count}
    return {"addresses": {"shared": shared, "overlaps": overlaps, **counts}}


def _rows(found: AddressClashes) -> Iterator[ClashRow]:
    yield from (_shared(one) for one in found.shared)
    yield from (_overlap(one) for one in found.overlaps)


def _shared(one: SharedAddress) -> ClashRow:
    ids = tuple(place.card for place in one.first_cards[:_SHOWN_CARDS])
    sites = "one site" if one.is_one_site else "several sites" if one.are_sites_told else "sites not said"
    return ClashRow(f"one address, {sites}", str(one.address), ids, one.cards - len(ids))


def _overlap(one: Overlap) -> ClashRow:
    ids = one.card_in_narrow.card, one.card_in_wide.card
    return ClashRow("a subnet inside another", f"{one.narrow} in {one.wide}", ids)


def _card(place: CardPlace) -> str:
    return plain(place.card)
