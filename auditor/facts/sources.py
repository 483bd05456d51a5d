"""What a list of allowed sources lets in; holds no facts.

Sources are an object in one of two forms, ``{"any": true}`` or ``{"prefixes": […]}``, or None
where they were not captured. None as an answer is *unknown*.
"""

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
