"""Addresses of an estate: duplicates and overlaps, by hand and against every pair compared."""

from ipaddress import ip_interface, ip_network
from itertools import combinations
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.fact import Settings
from auditor.fleet.addressing import CardPlace, EstateAddresses, Overlap, SharedAddress
from auditor.fleet.card_names import CardName, CardNames


def card(name: str, *texts: str, site: str = "North", **interface: Any) -> Settings:
    """Return a card whose one interface has these addresses, each with its prefix length."""
    four = [_settings(text) for text in texts if ":" not in text]
    six = [_settings(text) for text in texts if ":" in text]
    member = {"ipv4": four[0]} if four else {}
    return {
        "card": {"id": name, "site": site},
        "network": {"interfaces": [{**member, "ipv6": {"addresses": six}, **interface}]},
    }


def _settings(text: str) -> dict[str, object]:
    address, _, bits = text.partition("/")
    return {"address": address, "prefix_length": int(bits)} if bits else {"address": address}


def estate(*cards: Settings) -> EstateAddresses:
    """Return the addresses of some cards."""
    names = CardNames()
    addresses = EstateAddresses(names)
    for record in cards:
        card = record.get("card", {})
        addresses.add(record, names.add(CardName(card.get("id", ""), "", card.get("site", ""))))
    return addresses


def place(name: str, site: str = "North") -> CardPlace:
    """Return a card's place."""
    return CardPlace(name, site)


def test_an_address_of_two_cards_is_told_with_both() -> None:
    """IPv4 first; IPv6 however it is written; one that is unique is not told."""
    found = estate(
        card("a", "10.20.30.11/24", "fd12::b/64"),
        card("b", "10.20.30.12/24", "fd12:0:0::000b/64"),
        card("c", "10.20.30.11/24", site="South"),
    ).shared()
    assert list(found) == [
        SharedAddress("10.20.30.11", (place("a"), place("c", "South"))),
        SharedAddress("fd12::b", (place("a"), place("b"))),
    ]


def test_two_cards_of_one_site_make_a_sure_fault() -> None:
    """Two sites may use one private address and never meet; an unknown site proves nothing."""
    one, other, third = place("a"), place("b", "South"), place("c")
    assert SharedAddress("10.0.0.1", (one, other, third)).is_one_site is True
    assert SharedAddress("10.0.0.1", (one, other)).is_one_site is False
    assert SharedAddress("10.0.0.1", (one, other)).are_sites_told is True
    unknown = SharedAddress("10.0.0.1", (place("a", ""), place("b", "")))
    assert (unknown.is_one_site, unknown.are_sites_told) == (False, False)


def test_addresses_that_every_card_may_have_are_left_out() -> None:
    """Link-local and loopback; what is off; and one card twice in the same address."""
    twice = card("e", "10.0.0.9/24")
    twice["network"]["interfaces"] *= 2
    cards = [
        *(card(name, "169.254.1.1/16", "fe80::1%eth0/64", "::1/128") for name in "ab"),
        card("c", "10.0.0.9/24", enabled=False),
        card("d", ipv4={"enabled": False, "address": "10.0.0.9", "prefix_length": 24}),
        twice,
        {"card": {"id": "f"}},
        card("g", ipv4={"enabled": True}),
    ]
    assert list(estate(*cards).shared()) == []


def test_a_subnet_inside_a_wider_one_is_told_once() -> None:
    """With the narrowest that surrounds it, and the first card of each."""
    found = estate(
        card("a", "10.20.30.11/24"),
        card("b", "10.20.0.9/16"),
        card("c", "10.20.30.12/24"),
        card("d", "10.20.30.65/26"),
        card("e", "10.21.0.1/24"),
        card("f", "10.21.0.7"),
    ).overlaps()
    assert list(found) == [
        Overlap("10.20.0.0/16", "10.20.30.0/24", place("b"), place("a")),
        Overlap("10.20.30.0/24", "10.20.30.64/26", place("a"), place("d")),
    ]


_ADDRESSES = st.one_of(
    st.tuples(st.integers(0, 63), st.integers(24, 30)).map(lambda pair: f"192.0.2.{pair[0]}/{pair[1]}"),
    st.tuples(st.integers(0, 63), st.integers(120, 127)).map(lambda pair: f"2001:db8::{pair[0]:x}/{pair[1]}"),
)


@given(st.lists(_ADDRESSES, max_size=12))
def test_the_estate_finds_what_comparing_every_pair_finds(texts: list[str]) -> None:
    """Shared addresses and nested subnets, against the standard library on each pair."""
    addresses = estate(*(card(str(number), text) for number, text in enumerate(texts)))
    interfaces = [ip_interface(text) for text in texts]
    pairs = list(combinations(interfaces, 2))
    shared = {str(one.ip) for one, other in pairs if one.ip == other.ip}
    assert {found.address for found in addresses.shared()} == shared
    networks = {interface.network for interface in interfaces}
    inner = {str(net) for net in networks if any(_lies_in(net, other) for other in networks)}
    assert {found.narrow for found in addresses.overlaps()} == inner
    assert all(_lies_in(ip_network(found.narrow), ip_network(found.wide)) for found in addresses.overlaps())


def _lies_in(one: Any, other: Any) -> bool:
    return bool(one != other and one.version == other.version and one.subnet_of(other))
