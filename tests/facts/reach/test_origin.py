"""From where a service can be called, through several filters: by hand, with addresses for examples."""

from typing import Any, Final

from auditor.facts.reach.origin import lets_nobody_in, origin_of
from auditor.facts.reach.way import Origin, Place

ANY: Final = {"any": True}


def listed(*prefixes: str) -> dict[str, Any]:
    """Return a filter that lets some prefixes in."""
    return {"prefixes": list(prefixes)}


def card(own: dict[str, Any] | None = None, address: str = "10.1.0.5") -> dict[str, Any]:
    """Return a card at one address, with a filter of its own where one was captured."""
    ipv6 = {"enabled": False, "autoconfiguration": False, "dhcp": False}
    ipv4 = {"enabled": True, "method": "static", "address": address, "prefix_length": 24}
    interfaces = [{"enabled": True, "segment": "management", "ipv4": ipv4, "ipv6": ipv6}]
    return {"network": {"interfaces": interfaces, **({"allowed_sources": own} if own else {})}}


def test_filters_in_a_row_let_in_what_all_of_them_do() -> None:
    """The narrower of two prefixes, and the sizes add up: 256 and 16 addresses."""
    own = listed("10.0.0.0/8", "192.0.2.0/28")
    found = origin_of(card(own), listed("10.1.2.0/24", "192.0.2.0/24"), ANY)
    assert found == Origin(Place.NETWORK, prefixes=("10.1.2.0/24", "192.0.2.0/28"), ipv4_addresses=272)


def test_filters_that_share_nothing_let_nobody_in_whatever_a_third_says() -> None:
    """Also where that one was not captured: it could only take addresses away."""
    found = origin_of(card(listed("10.0.0.0/8")), listed("192.0.2.0/24"), None)
    assert found == Origin(Place.NETWORK)
    assert lets_nobody_in(found)


def test_a_filter_that_was_not_captured_leaves_open_from_where() -> None:
    """Beside a list it is surely not any address; beside none it may be."""
    assert origin_of(card(listed("10.0.0.0/8")), None).any_address is False
    assert origin_of(card(listed("10.0.0.0/8")), None).prefixes is None
    assert origin_of(card(), ANY).any_address is None


def test_one_public_prefix_opens_a_card_with_a_public_address_to_the_internet() -> None:
    """Next to the documentation prefix 203.0.113.0/24; private addresses are not public (RFC 6890)."""
    several = listed("10.0.0.0/8", "203.0.114.0/24")
    assert origin_of(card(ANY, "203.0.112.9"), several).is_globally_routable is True
    assert origin_of(card(ANY, "10.1.0.5"), several).is_globally_routable is False
    assert origin_of(card(ANY, "203.0.112.9"), listed("10.0.0.0/8")).is_globally_routable is False
