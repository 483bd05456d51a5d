"""Facts on addressing, held against the standard library's own arithmetic."""

from datetime import UTC, datetime
from ipaddress import IPv4Address, IPv4Interface, IPv6Address

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import network
from auditor.facts.fact import Context, Settings
from tests.facts.less_known import thinned

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))
ADDRESSES = st.integers(0, 2**32 - 1).map(lambda number: str(IPv4Address(number)))


def interface(address: str | None, prefix_length: int | None = None, gateway: str | None = None) -> Settings:
    """Return an interface with these IPv4 settings; None leaves one out."""
    given_to = {"address": address, "prefix_length": prefix_length, "gateway": gateway}
    return {"ipv4": {name: value for name, value in given_to.items() if value is not None}}


# Source: RFC 1918 section 3, RFC 6598, RFC 3927, RFC 5737, RFC 6890 section 2.2; first and last of each.
@pytest.mark.parametrize(
    ("first", "last", "kind"),
    [
        ("10.0.0.0", "10.255.255.255", "private"),
        ("172.16.0.0", "172.31.255.255", "private"),
        ("192.168.0.0", "192.168.255.255", "private"),
        ("100.64.0.0", "100.127.255.255", "shared"),
        ("169.254.0.0", "169.254.255.255", "link-local"),
        ("192.0.2.0", "192.0.2.255", "documentation"),
        ("198.51.100.0", "198.51.100.255", "documentation"),
        ("203.0.113.0", "203.0.113.255", "documentation"),
        ("127.0.0.0", "127.255.255.255", "loopback"),
        ("0.0.0.0", "0.255.255.255", "special"),  # noqa: S104 - an address to classify
        ("192.0.0.0", "192.0.0.255", "special"),
        ("198.18.0.0", "198.19.255.255", "special"),
        ("240.0.0.0", "255.255.255.255", "special"),
        ("224.0.0.0", "239.255.255.255", "multicast"),
    ],
)
def test_ranges_of_the_standards_have_their_kind(first: str, last: str, kind: str) -> None:
    """First and last address of each range have its kind, the neighbours outside don't."""
    assert {network.ipv4_kind(interface(text), {}, CONTEXT) for text in (first, last)} == {kind}
    outside = [int(IPv4Address(first)) - 1, int(IPv4Address(last)) + 1]
    beyond = [str(IPv4Address(number)) for number in outside if 0 <= number < 2**32]
    assert kind not in {network.ipv4_kind(interface(text), {}, CONTEXT) for text in beyond}


@given(ADDRESSES)
def test_what_is_called_global_is_global(text: str) -> None:
    """What the standard library calls global, and not multicast, is global here.

    Not the other way round: the library also knows ranges set aside after RFC 6890.
    """
    address = IPv4Address(text)
    if address.is_global and not address.is_multicast:
        assert network.ipv4_kind(interface(text), {}, CONTEXT) == "global"


@pytest.mark.parametrize(
    ("text", "kind"), [("fd12::5", "not IPv4"), ("fe80::1%eth0", "not IPv4"), (None, None)]
)
def test_other_text_is_no_ipv4_address(text: str | None, kind: str | None) -> None:
    """IPv6 text in the place of an IPv4 address is named as such; an absent one is unknown."""
    assert network.ipv4_kind(interface(text), {}, CONTEXT) == kind


@pytest.mark.parametrize(
    ("address", "length", "gateway", "gaps"),
    [
        ("10.20.30.11", 24, "10.20.30.1", ()),
        ("0.0.0.0", 24, "10.20.30.1", ("address",)),  # noqa: S104 - an unset address, not a bind
        ("10.20.30.11", 0, "0.0.0.0", ("prefix length", "gateway")),  # noqa: S104
        (None, 0, None, ("prefix length",)),
        ("10.20.30.11", 24, None, None),
    ],
)
def test_zeros_are_gaps(
    address: str | None, length: int | None, gateway: str | None, gaps: tuple[str, ...] | None
) -> None:
    """What is all zeros is unset; a gap decides even where the rest is not captured."""
    assert network.ipv4_gaps(interface(address, length, gateway), {}, CONTEXT) == gaps


@given(ADDRESSES, st.integers(1, 32), ADDRESSES)
def test_gateway_place_agrees_with_the_reference_library(address: str, length: int, gateway: str) -> None:
    """Inside and outside, network and broadcast address: the standard library says the same."""
    _agrees(address, length, gateway)


@given(ADDRESSES, st.integers(24, 32), st.integers(-3, 260))
def test_gateway_place_agrees_near_the_subnet(address: str, length: int, step: int) -> None:
    """The same for gateways in and just beside the subnet, where mistakes are made."""
    first = int(IPv4Interface(f"{address}/{length}").network.network_address)
    _agrees(address, length, str(IPv4Address((first + step) % 2**32)))


def _agrees(address: str, length: int, gateway: str) -> None:
    subnet, there = IPv4Interface(f"{address}/{length}").network, IPv4Address(gateway)
    place = network.gateway_place(interface(address, length, gateway), {}, CONTEXT)
    assert (place == "the card itself") is (gateway == address)
    if gateway != address:
        assert (place == "outside the subnet") is (there not in subnet)
        on_edge = length <= 30 and there in (subnet.network_address, subnet.broadcast_address)
        assert (place == "in the subnet") is (there in subnet and not on_edge)


@given(ADDRESSES, st.integers(1, 32))
def test_host_addresses_agree_with_the_reference_library(address: str, length: int) -> None:
    """Neither network nor broadcast address, save in /31 (RFC 3021) and /32."""
    subnet = IPv4Interface(f"{address}/{length}").network
    edges = {str(subnet.network_address), str(subnet.broadcast_address)}
    expected = length > 30 or address not in edges
    assert network.address_is_for_a_host(interface(address, length), {}, CONTEXT) is expected


@pytest.mark.parametrize(
    "made", [interface(None, 24, "10.0.0.1"), interface("10.0.0.5", None, "10.0.0.1"), {}]
)
def test_a_missing_part_leaves_the_gateway_unknown(made: Settings) -> None:
    """Address, length and gateway are all needed to say where the gateway stands."""
    assert network.gateway_place(made, {}, CONTEXT) is None


@pytest.mark.parametrize(
    ("texts", "named"),
    [
        ([], ()),
        (["fd12::5", "fe80::1", "2001:db8::7", "::1", "2002:c000:204::1", "2001:0:1::1"], ()),
        (["3ffe::7", "fd12::5"], ("3ffe::7",)),
        (["fe80::1%eth0"], ()),
        (["fd12::5", None], None),
        (["3ffe::7", None], ("3ffe::7",)),
    ],
)
def test_global_ipv6_addresses_are_named(texts: list[str | None], named: tuple[str, ...] | None) -> None:
    """Unique local, link-local, documentation and special addresses are not global.

    Source: RFC 4193, RFC 6890 section 2.2.
    """
    addresses = [{} if text is None else {"address": text} for text in texts]
    assert network.global_ipv6_addresses({"ipv6": {"addresses": addresses}}, {}, CONTEXT) == named


@given(st.integers(0, 2**128 - 1))
def test_what_the_library_calls_private_is_not_global(number: int) -> None:
    """No address that the standard library calls link-local, private or multicast is named."""
    address = IPv6Address(number)
    named = network.global_ipv6_addresses({"ipv6": {"addresses": [{"address": str(address)}]}}, {}, CONTEXT)
    assert not (named and (address.is_link_local or address.is_multicast))
    assert bool(named) <= (number >> 125 == 1)


def test_absent_ipv6_addresses_are_unknown() -> None:
    """No list, no answer."""
    assert network.global_ipv6_addresses({"ipv6": {}}, {}, CONTEXT) is None
    assert network.global_ipv6_addresses({}, {}, CONTEXT) is None


def test_the_filter_says_how_wide_it_is() -> None:
    """The card's filter is read for openness and for the widest prefix of each family."""
    record = {"network": {"allowed_sources": {"prefixes": ["192.0.2.0/26", "2001:db8::/32"]}}}
    assert network.card_accepts_any_source(record, CONTEXT) is False
    assert (network.filter_ipv4_bits(record, CONTEXT), network.filter_ipv6_bits(record, CONTEXT)) == (26, 32)
    assert network.card_accepts_any_source({}, CONTEXT) is None


def test_dns_servers_are_counted_once_each() -> None:
    """The same server twice is one server."""
    assert network.dns_server_count({"network": {"dns_servers": ["192.0.2.53", "192.0.2.53"]}}, CONTEXT) == 1
    assert network.dns_server_count({}, CONTEXT) is None


BY_ADDRESS: Settings = {
    "time": {"source": "ntp", "servers": [{"host": "192.0.2.7"}]},
    "log": {"collectors": []},
    "snmp": {"receivers": [{"host": "2001:db8::9"}]},
    "mail": {"server": "192.0.2.8"},
    "services": {"mqtt": {"broker": "192.0.2.10"}},
    "directory": {"ldap": {"servers": [{"host": "192.0.2.11"}]}, "radius": {"servers": []}},
}
NAME = "host-01"


@pytest.mark.parametrize(
    ("changes", "name"),
    [
        ({}, ""),
        ({"mail": {"enabled": True, "server": "mail.example.org"}}, "mail.example.org"),
        ({"log": {"collectors": [{"enabled": True, "host": NAME}]}, "mail": {}}, NAME),
        ({"snmp": {"receivers": [{"enabled": True, "host": NAME}]}}, NAME),
        ({"time": {"source": "ntp", "servers": [{"host": NAME}]}}, NAME),
        ({"services": {"mqtt": {"enabled": True, "broker": NAME}}}, NAME),
        ({"directory": {"ldap": {"enabled": True, "servers": [{"host": NAME}]}}}, NAME),
        ({"directory": {"radius": {"enabled": True, "servers": [{"host": NAME}]}}}, NAME),
        ({"mail": {}}, None),
        ({"log": {}}, None),
        ({"time": {"source": "ntp", "servers": [{}]}}, None),
        ({"directory": {}}, None),
        ({"services": {}}, None),
    ],
)
def test_names_are_told_from_addresses(changes: Settings, name: str | None) -> None:
    """Names must be looked up, addresses not; what is not captured may hold a name."""
    assert network.name_to_resolve({**BY_ADDRESS, **changes}, CONTEXT) == name


@pytest.mark.parametrize(
    "changes",
    [
        {"mail": {"enabled": False}},
        {"mail": {"enabled": False, "server": NAME}},
        {"time": {"source": "manual"}},
        {"time": {"source": "ptp", "servers": [{"host": NAME}]}},
        {"services": {"mqtt": {"enabled": False}}},
        {"directory": {"ldap": {"enabled": False}, "radius": {"enabled": False}}},
        {"log": {"collectors": [{"enabled": False, "host": NAME}]}},
        {"snmp": {"receivers": [{"enabled": False}]}},
    ],
)
def test_what_is_off_needs_no_name(changes: Settings) -> None:
    """A service that is known to be off is not called, whatever host is entered or left out."""
    assert network.name_to_resolve({**BY_ADDRESS, **changes}, CONTEXT) == ""


def test_a_name_that_may_not_be_used_decides_nothing() -> None:
    """Where it is not captured whether the service is on, its name may or may not be looked up."""
    assert network.name_to_resolve({**BY_ADDRESS, "mail": {"server": NAME}}, CONTEXT) is None


@given(st.data())
def test_more_knowledge_never_turns_a_need_for_names(data: st.DataObject) -> None:
    """What little is known decides as the whole record does, or not at all."""
    on = {"mail": {"enabled": True, "server": NAME}, "time": {"source": "manual"}}
    whole = {**BY_ADDRESS, **data.draw(st.sampled_from(({}, on)))}
    known = data.draw(st.composite(lambda draw: thinned(whole, draw))())
    less = network.name_to_resolve(known, CONTEXT)
    assert less is None or bool(less) is bool(network.name_to_resolve(whole, CONTEXT))
