"""What a list of allowed sources lets in."""

from ipaddress import ip_network

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.sources import Sources, address_count, allows_any, shortest_prefix_bits


@pytest.mark.parametrize(
    ("sources", "open_to_any", "ipv4", "ipv6"),
    [
        (None, None, None, None),
        ({"any": True}, True, 0, 0),
        ({"prefixes": []}, False, 32, 128),
        ({"prefixes": ["0.0.0.0/0"]}, True, 0, 128),
        ({"prefixes": ["::/0", "192.0.2.0/24"]}, True, 24, 0),
        ({"prefixes": ["192.0.2.0/24", "198.51.100.7/32"]}, False, 24, 128),
        ({"prefixes": ["2001:db8::/32", "2001:db8:1::/48", "10.0.0.0/30"]}, False, 30, 32),
    ],
)
def test_sources_say_how_wide_they_are(
    sources: Sources, open_to_any: bool | None, ipv4: int | None, ipv6: int | None
) -> None:
    """Any source, no source and prefixes of both families are told apart."""
    assert allows_any(sources) is open_to_any
    assert (shortest_prefix_bits(sources, ipv6=False), shortest_prefix_bits(sources, ipv6=True)) == (
        ipv4,
        ipv6,
    )


@given(st.lists(st.tuples(st.integers(0, 2**32 - 1), st.integers(0, 32)), min_size=1, max_size=6))
def test_the_widest_prefix_is_that_of_the_reference_library(pairs: list[tuple[int, int]]) -> None:
    """Length and openness agree with the standard library's own reading of the prefixes."""
    networks = [ip_network((number, length), strict=False) for number, length in pairs]
    sources = {"prefixes": [str(network) for network in networks]}
    assert shortest_prefix_bits(sources, ipv6=False) == min(network.prefixlen for network in networks)
    assert allows_any(sources) is any(network.num_addresses == 2**32 for network in networks)


@pytest.mark.parametrize(
    ("sources", "ipv4", "ipv6"),
    [
        (None, None, None),
        ({"any": True}, 2**32, 2**128),
        ({"prefixes": []}, 0, 0),
        ({"prefixes": ["0.0.0.0/0"]}, 2**32, 0),
        ({"prefixes": ["192.0.2.0/25", "192.0.2.128/25", "192.0.2.7/32", "192.0.2.9/24"]}, 256, 0),
        ({"prefixes": ["2001:db8::/64", "10.0.0.0/30"]}, 4, 2**64),
    ],
)
def test_addresses_of_a_union_count_once(sources: Sources, ipv4: int | None, ipv6: int | None) -> None:
    """By hand: prefixes that touch, lie in each other or are written with host bits."""
    assert (address_count(sources, ipv6=False), address_count(sources, ipv6=True)) == (ipv4, ipv6)


@given(st.lists(st.tuples(st.integers(0, 255), st.integers(24, 32)), max_size=8))
def test_a_union_is_as_large_as_the_set_of_its_addresses(parts: list[tuple[int, int]]) -> None:
    """Against every address listed by the standard library."""
    prefixes = [f"192.0.2.{last}/{bits}" for last, bits in parts]
    listed = {address for prefix in prefixes for address in ip_network(prefix, strict=False)}
    assert address_count({"prefixes": prefixes}, ipv6=False) == len(listed)
