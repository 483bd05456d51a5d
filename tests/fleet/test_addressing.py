"""Addresses of an estate: duplicates and overlaps, by hand and against every pair compared."""

from ipaddress import ip_address, ip_interface, ip_network
from itertools import combinations
from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.fact import Settings
from auditor.fleet.addressing import SHOWN_CARDS, CardPlace, EstateAddresses, Overlap, SharedAddress
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


def shared(*cards: Settings) -> list[SharedAddress]:
    """Return the shared addresses of some cards, as they are to be shown."""
    return list(estate(*cards).clashes().shared)


def test_an_address_of_two_cards_is_told_with_both() -> None:
    """The sure fault first, then IPv4; IPv6 however it is written; one that is unique is not told."""
    found = shared(
        card("a", "10.20.30.11/24", "fd12::b/64", "fd12::a/64"),
        card("b", "10.20.30.12/24", "fd12:0:0::000b/64"),
        card("c", "10.20.30.11/24", "fd12::a/64", site="South"),
    )
    both = place("a"), place("c", "South")
    assert found == [
        SharedAddress(
            ip_address("fd12::b"), (place("a"), place("b")), 2, is_one_site=True, are_sites_told=True
        ),
        SharedAddress(ip_address("10.20.30.11"), both, 2, is_one_site=False, are_sites_told=True),
        SharedAddress(ip_address("fd12::a"), both, 2, is_one_site=False, are_sites_told=True),
    ]


def test_two_cards_of_one_site_make_a_sure_fault() -> None:
    """Two sites may use one private address and never meet; an unknown site proves nothing."""

    def of(*sites: str) -> tuple[bool, bool]:
        (found,) = shared(*(card(str(at), "10.0.0.1/24", site=site) for at, site in enumerate(sites)))
        return found.is_one_site, found.are_sites_told

    assert of("North", "South", "North") == (True, True)
    assert of("North", "South") == (False, True)
    assert of("", "") == (False, False)
    assert of("North", "", "North") == (True, False)


def test_of_many_cards_with_one_address_the_first_are_kept_and_all_are_counted() -> None:
    """What is said of their sites holds for all of them."""
    numbers = range(SHOWN_CARDS + 2)
    places = [place(str(number), "North" if number > SHOWN_CARDS else f"S{number}") for number in numbers]
    twice = [card(one.card, "192.0.2.1/24", site=one.site) for one in [*places, place("last")]]
    assert shared(*twice) == [
        SharedAddress(
            ip_address("192.0.2.1"),
            tuple(places[:SHOWN_CARDS]),
            SHOWN_CARDS + 3,
            is_one_site=True,
            are_sites_told=True,
        )
    ]


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
    assert shared(*cards) == []


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
    shared = {one.ip for one, other in pairs if one.ip == other.ip}
    assert {found.address for found in addresses.shared()} == shared
    networks = {interface.network for interface in interfaces}
    inner = {str(net) for net in networks if any(_lies_in(net, other) for other in networks)}
    assert {found.narrow for found in addresses.overlaps()} == inner
    assert all(_lies_in(ip_network(found.narrow), ip_network(found.wide)) for found in addresses.overlaps())


def _lies_in(one: Any, other: Any) -> bool:
    return bool(one != other and one.version == other.version and one.subnet_of(other))
