"""Addresses, masks, prefixes, hosts and hardware addresses."""

from ipaddress import IPv4Network, IPv6Network, ip_network

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.intake.mapping.conversion_error import ConversionError
from auditor.intake.mapping.network_form import (
    address,
    host,
    mac_address,
    port,
    prefix,
    prefix_length,
    prefixes,
)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("192.0.2.1", "192.0.2.1"),
        ("192.0.2.1/24", "192.0.2.1"),
        ("192.0.2.1 255.255.255.0", "192.0.2.1"),
        ("192.0.2.1:161", "192.0.2.1"),
        ("2001:DB8:0:0::1", "2001:db8::1"),
        ("[2001:db8::1]:161", "2001:db8::1"),
        ("2001:db8::1/64", "2001:db8::1"),
    ],
)
def test_an_address_stands_alone(text: str, found: str) -> None:
    """What stands beside it, a mask, a length, a port, is left out."""
    assert address(text) == found


@pytest.mark.parametrize(
    ("text", "length"),
    [
        ("255.255.255.0", 24),
        ("255.255.255.255", 32),
        ("0.0.0.0", 0),  # noqa: S104 - a mask
        ("/26", 26),
        ("24", 24),
        ("192.0.2.1/27", 27),
        ("192.0.2.1 255.255.254.0", 23),
        ("2001:db8::1/64", 64),
    ],
)
def test_a_mask_becomes_a_length(text: str, length: int) -> None:
    """Dotted or not, alone or beside its address."""
    assert prefix_length(text) == length


@pytest.mark.parametrize(
    "text", ["255.0.255.0", "0.0.0.255", "33", "192.0.2.1/64", "255.255.255", "", "x", "-1"]
)
def test_what_is_no_mask_is_refused(text: str) -> None:
    """A mask with gaps, a wildcard, a length beyond the address."""
    with pytest.raises(ConversionError):
        prefix_length(text)


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("192.0.2.0/24", ["192.0.2.0/24"]),
        ("192.0.2.17/24", ["192.0.2.0/24"]),
        ("192.0.2.0 255.255.255.192", ["192.0.2.0/26"]),
        ("192.0.2.9", ["192.0.2.9/32"]),
        ("2001:db8::1", ["2001:db8::1/128"]),
        ("192.0.2.16 - 192.0.2.31", ["192.0.2.16/28"]),
        ("192.0.2.1-192.0.2.2", ["192.0.2.1/32", "192.0.2.2/32"]),
        ("2001:db8::-2001:db8::1", ["2001:db8::/127"]),
    ],
)
def test_sources_become_prefixes(text: str, found: list[str]) -> None:
    """One prefix, one host, or a range."""
    assert prefixes(text) == found


@pytest.mark.parametrize(
    "text", ["somewhere", "192.0.2.0/33", "192.0.2.9-192.0.2.1", "192.0.2.1-2001:db8::1", "1 2 3", " "]
)
def test_what_is_no_prefix_is_refused(text: str) -> None:
    """No range runs backwards, or from one family to the other."""
    with pytest.raises(ConversionError):
        prefixes(text)


@given(st.integers(0, 2**32 - 1), st.integers(0, 32))
def test_every_way_to_write_a_prefix_says_the_same(number: int, length: int) -> None:
    """With a length, with a mask or as a range: the prefix of the standard library's own arithmetic."""
    network = IPv4Network((number, length), strict=False)
    assert prefix(f"{network.network_address}/{length}") == prefix(
        f"{network.network_address} {network.netmask}"
    )
    assert prefixes(f"{network[0]}-{network[-1]}") == [str(network)]
    assert prefix_length(str(network.netmask)) == length


@given(st.integers(0, 2**128 - 1), st.integers(0, 128))
def test_prefixes_of_the_long_addresses_survive(number: int, length: int) -> None:
    """IPv6 likewise, but for masks, which it has none of."""
    network = IPv6Network((number, length), strict=False)
    assert ip_network(prefix(f"{network.network_address}/{length}")) == network


@pytest.mark.parametrize(
    ("text", "own", "number"),
    [
        ("log.example.net:6514", "log.example.net", 6514),
        ("192.0.2.60:514", "192.0.2.60", 514),
        ("[2001:db8::60]:6514", "2001:db8::60", 6514),
    ],
)
def test_a_host_is_split_from_its_port(text: str, own: str, number: int) -> None:
    """Brackets keep an IPv6 address whole (RFC 3986 section 3.2.2)."""
    assert (host(text), port(text)) == (own, number)


def test_a_host_without_a_port_has_none() -> None:
    """The colons of an IPv6 address are not taken for it; a bare number is a port."""
    assert (host("2001:db8::60"), host("log.example.net"), port("514")) == (
        "2001:db8::60",
        "log.example.net",
        514,
    )
    with pytest.raises(ConversionError):
        port("log.example.net")


@pytest.mark.parametrize(
    "text", ["02:00:5e:00:53:01", "02-00-5E-00-53-01", "02005E005301", "0200.5e00.5301", "02 00 5e 00 53 01"]
)
def test_a_hardware_address_has_one_form_in_the_end(text: str) -> None:
    """Whatever groups it was written in."""
    assert mac_address(text) == "02:00:5e:00:53:01"


@pytest.mark.parametrize("text", ["02:00:5e:00:53", "02:00:5e:00:53:zz", "", "0" * 500])
def test_what_is_no_hardware_address_is_refused(text: str) -> None:
    """Twelve hexadecimal digits, no more and no fewer."""
    with pytest.raises(ConversionError):
        mac_address(text)
