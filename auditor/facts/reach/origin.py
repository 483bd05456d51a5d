"""From where a service can be called: the filters in its way, intersected. Holds no facts."""

from collections.abc import Iterable
from functools import lru_cache
from typing import Final, TypeAlias

from auditor.facts.fact import Settings
from auditor.facts.network import has_global_address, has_global_space
from auditor.facts.reach.way import Origin, Place, Truth3
from auditor.facts.sources import IPV4_BITS, IPV6_BITS, Sources, address_count, allows_any, intersection
from auditor.facts.three_valued import all_of

_Filter: TypeAlias = tuple[str, ...] | bool | None
"""Prefixes; True where any address is let in; None where it was not captured."""

_ANY: Final = True

AT_THE_CARD: Final = Origin(Place.PRESENCE)
BY_RADIO: Final = Origin(Place.RADIO)
CALLED: Final = Origin(
    place=Place.OUTBOUND,
    any_address=None,
    prefixes=None,
    ipv4_addresses=None,
    ipv6_addresses=None,
    is_globally_routable=None,
)


def origin_of(record: Settings, *sources: Sources) -> Origin:
    """Return from which addresses a service can be called, through the card's filter and its own.

    ``sources`` are the lists of the service and of what is behind it, such as a community.
    """
    network = record.get("network", {})
    filters = (_filter_of(network.get("allowed_sources")), *map(_filter_of, sources))
    return _origin(filters, has_global_address(record))


def lets_nobody_in(origin: Origin) -> bool:
    """Return whether the filters have no address in common."""
    return origin.place is Place.NETWORK and origin.any_address is False and origin.prefixes == ()


def _filter_of(sources: Sources) -> _Filter:
    if sources is None:
        return None
    return True if allows_any(sources) else tuple(sources["prefixes"])


@lru_cache(maxsize=4096)  # the services of a card, and the cards of an estate, share a few filters
def _origin(filters: tuple[_Filter, ...], is_global: Truth3) -> Origin:
    lists = [prefixes for prefixes in filters if isinstance(prefixes, tuple)]
    known = _common(lists) if lists else None
    if known == ():
        return Origin(Place.NETWORK)
    if None in filters:
        return _partly_known(known, is_global)
    if known is None:
        counts = 1 << IPV4_BITS, 1 << IPV6_BITS
        return Origin(Place.NETWORK, _ANY, (), *counts, is_globally_routable=is_global)
    sources = {"prefixes": known}
    counts = address_count(sources, ipv6=False) or 0, address_count(sources, ipv6=True) or 0
    routable = all_of(any(map(has_global_space, known)), is_global)
    return Origin(Place.NETWORK, not _ANY, known, *counts, is_globally_routable=routable)


def _partly_known(known: tuple[str, ...] | None, is_global: Truth3) -> Origin:
    """Return what is sure where some filter was not captured: it can only take addresses away."""
    may_be_global = None if known is None or any(map(has_global_space, known)) else False
    routable = all_of(may_be_global, is_global)
    return Origin(Place.NETWORK, None if known is None else False, None, None, None, routable)


def _common(lists: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    first, *others = lists
    common = intersection(first, first)
    for prefixes in others:
        common = intersection(common, prefixes)
    return common
