"""What a list of allowed sources lets in; holds no facts.

Sources are an object in one of two forms, ``{"any": true}`` or ``{"prefixes": […]}``, or None
where they were not captured. None as an answer is *unknown*.
"""

from functools import lru_cache
from ipaddress import IPv4Network, IPv6Network
from typing import Any, TypeAlias

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
