"""What a list of allowed sources lets in; holds no facts.

Sources are an object in one of two forms, ``{"any": true}`` or ``{"prefixes": […]}``, or None
where they were not captured. None as an answer is *unknown*.
"""

from collections.abc import Sequence
from functools import lru_cache
from ipaddress import IPv4Network, IPv6Network, collapse_addresses
from typing import Any, TypeAlias, TypeVar

Sources: TypeAlias = dict[str, Any] | None
"""Allowed sources of a record; None where they were not captured."""

IPV4_BITS = 32
IPV6_BITS = 128


def allows_any(sources: Sources) -> bool | None:
    """Return whether every address is let in: said so, or by a prefix of length 0.

    An empty list of prefixes lets nobody in.
    """
    if sources is None:
        return None
    return "any" in sources or any(prefix.endswith("/0") for prefix in sources["prefixes"])


def shortest_prefix_bits(sources: Sources, *, ipv6: bool) -> int | None:
    """Return the length of the widest prefix of one address family, in bits.

    The full length of an address where there is no prefix of that family.
    """
    if sources is None or "any" in sources:
        return None if sources is None else 0
    lengths = [int(prefix.rpartition("/")[2]) for prefix in sources["prefixes"] if (":" in prefix) is ipv6]
    return min(lengths, default=IPV6_BITS if ipv6 else IPV4_BITS)


def address_count(sources: Sources, *, ipv6: bool) -> int | None:
    """Return how many addresses of one family are let in; those of two prefixes count once."""
    if sources is None:
        return None
    if "any" in sources:
        return 1 << (IPV6_BITS if ipv6 else IPV4_BITS)
    return _union_size(tuple(prefix for prefix in sources["prefixes"] if (":" in prefix) is ipv6))


@lru_cache(maxsize=256)  # the cards of an estate share a few lists
def _union_size(prefixes: tuple[str, ...]) -> int:
    form = IPv6Network if ":" in "".join(prefixes) else IPv4Network
    networks = [form(prefix, strict=False) for prefix in prefixes]
    covered, reached = 0, -1
    for first, last in sorted((int(n.network_address), int(n.broadcast_address)) for n in networks):
        covered += max(last - max(first - 1, reached), 0)
        reached = max(reached, last)
    return covered


@lru_cache(maxsize=1024)  # the services of a card share a few lists
def intersection(one: tuple[str, ...], other: tuple[str, ...]) -> tuple[str, ...]:
    """Return the prefixes of the addresses that two lists of prefixes both let in, fewest and sorted.

    IPv4 stands before IPv6. Two prefixes are nested or have nothing in common.
    """
    ipv4 = _common(_ipv4_networks(one), _ipv4_networks(other))
    ipv6 = _common(_ipv6_networks(one), _ipv6_networks(other))
    return (*map(str, collapse_addresses(ipv4)), *map(str, collapse_addresses(ipv6)))


_Network = TypeVar("_Network", IPv4Network, IPv6Network)


def _common(ones: Sequence[_Network], others: Sequence[_Network]) -> list[_Network]:
    return [max(a, b, key=_length) for a in ones for b in others if a.overlaps(b)]


def _length(network: IPv4Network | IPv6Network) -> int:
    return network.prefixlen


def _ipv4_networks(prefixes: tuple[str, ...]) -> list[IPv4Network]:
    return [IPv4Network(prefix, strict=False) for prefix in prefixes if ":" not in prefix]


def _ipv6_networks(prefixes: tuple[str, ...]) -> list[IPv6Network]:
    return [IPv6Network(prefix, strict=False) for prefix in prefixes if ":" in prefix]
