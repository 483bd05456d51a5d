"""Interfaces and addresses: configured, observed, and in the older list of state."""

from collections.abc import Mapping
from types import MappingProxyType
from typing import Any, Final

import pytest

from tests.intake.ietf.told import imported, whys

NOTHING: Final[Mapping[str, object]] = MappingProxyType({})
ETHERNET = "iana-if-type:ethernetCsmacd"


def interface(members: Mapping[str, object] = NOTHING, state: Mapping[str, object] = NOTHING) -> Any:
    """Import one interface, with its entry in the older list of state if there is one."""
    entry = {
        "name": "lan",
        "type": ETHERNET,
        **members,
    }
    observed = (
        {"ietf-interfaces:interfaces-state": {"interface": [{"name": "lan", **state}]}} if state else {}
    )
    return imported({"ietf-interfaces:interfaces": {"interface": [entry]}, **observed})


def ipv4(**leaves: object) -> dict[str, object]:
    """Return the IPv4 container with one address."""
    return {"ietf-ip:ipv4": {"address": [{"ip": "192.0.2.9", **leaves}]}}


def test_a_container_that_is_not_there_tells_nothing() -> None:
    """Without the container there may be no such protocol, or a filter left it out."""
    assert interface().settings["network"]["interfaces"] == [{"name": "lan", "enabled": True}]


@pytest.mark.parametrize(
    ("leaves", "length"),
    [({"prefix-length": 24}, 24), ({"netmask": "255.255.255.0"}, 24), ({"netmask": "255.0.255.0"}, None)],
)
def test_a_netmask_becomes_a_length(leaves: dict[str, object], length: int | None) -> None:
    """A mask with gaps has no length, so it is lost."""
    found = interface(ipv4(**leaves))
    assert found.settings["network"]["interfaces"][0]["ipv4"].get("prefix_length") == length
    assert bool(found.lost) is (length is None)


@pytest.mark.parametrize(
    ("origin", "address", "method"),
    [
        ("static", "192.0.2.9", "static"),
        ("dhcp", "192.0.2.9", "dhcp"),
        ("random", "169.254.3.4", "link_local"),
        ("random", "192.0.2.9", None),
        ("other", "192.0.2.9", None),
        ("link-layer", "192.0.2.9", None),
    ],
)
def test_an_origin_becomes_a_method(origin: str, address: str, method: str | None) -> None:
    """A record has no word for every origin; the rest is lost and not guessed."""
    found = interface({**ipv4(ip=address, origin=origin), "oper-status": "up"})
    assert found.settings["network"]["interfaces"][0]["ipv4"].get("method") == method
    assert bool(found.lost) is (method is None)


def test_the_older_list_of_state_fills_in() -> None:
    """RFC 8343 keeps it for older clients: hardware address, and where an address came from."""
    found = interface(ipv4(), {"phys-address": "02:00:5e:10:00:01", **ipv4(origin="dhcp")})
    assert found.settings["network"]["interfaces"] == [
        {
            "name": "lan",
            "enabled": True,
            "mac_address": "02:00:5e:10:00:01",
            "ipv4": {"enabled": True, "address": "192.0.2.9", "method": "dhcp"},
        }
    ]


def test_an_interface_may_be_observed_without_being_configured() -> None:
    """It has no defaults: nobody configured it."""
    observed = {"name": "lan", "type": ETHERNET, **ipv4(origin="dhcp", **{"prefix-length": 24})}
    found = imported({"ietf-interfaces:interfaces-state": {"interface": [observed]}})
    assert found.settings["network"]["interfaces"] == [
        {"name": "lan", "ipv4": {"address": "192.0.2.9", "prefix_length": 24, "method": "dhcp"}}
    ]


def test_observed_addresses_without_an_origin_are_of_unknown_method() -> None:
    """An entry with state is no configuration, so nothing in it is static by definition."""
    found = interface({**ipv4(), "oper-status": "up"})
    assert found.settings["network"]["interfaces"] == [{"name": "lan", "ipv4": {"address": "192.0.2.9"}}]


def test_further_addresses_are_lost_and_told() -> None:
    """A record holds one IPv4 address of an interface and all of IPv6."""
    family = {"address": [{"ip": f"192.0.2.{n}", "prefix-length": 24} for n in (1, 2, 3)]}
    more = {"address": [{"ip": f"2001:db8::{n}", "prefix-length": 64} for n in (1, 2)]}
    found = interface({"ietf-ip:ipv4": family, "ietf-ip:ipv6": more})
    [lan] = found.settings["network"]["interfaces"]
    assert lan["ipv4"]["address"] == "192.0.2.1"
    assert [one["address"] for one in lan["ipv6"]["addresses"]] == ["2001:db8::1", "2001:db8::2"]
    assert len(whys(found)) == 2
