"""Ways in: what opens them, what they ask, what they allow, and which are minimal."""

import copy
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest

from auditor.facts.fact import Context
from auditor.facts.reach.way import Channel, Place, Proof, Way
from auditor.facts.reach.ways import administrator_ways, minimal, switching, ways

CONTEXT = Context(datetime(2026, 11, 25, tzinfo=UTC), words=frozenset({"public", "private"}))
COMPLIANT: dict[str, Any] = json.loads(Path("fixtures/cards/compliant.json").read_text("utf-8"))


@pytest.fixture
def record() -> dict[str, Any]:
    """Return a record that may be changed."""
    return copy.deepcopy(COMPLIANT)


def through(record: dict[str, Any], channel: Channel) -> list[Way]:
    """Return the ways through one channel."""
    return [way for way in ways(record, CONTEXT) if way.channel is channel]


def test_a_writing_community_is_a_way_to_switch_with_its_word_in_clear(record: dict[str, Any]) -> None:
    """Version, row, access and commands together open it; the word is well known."""
    record["snmp"]["versions"] = ["v2c"]
    record["snmp"]["vacm"] = {"groups": [], "access": [], "views": []}
    record["snmp"]["communities"] = [
        {
            "name": "row-1",
            "enabled": True,
            "community": {"clear": "private"},
            "access": "write",
            "view": "",
            "allowed_sources": {"any": True},
            "security_name": "writer",
        }
    ]
    (way,) = through(record, Channel.SNMP_V2C)
    assert (way.party, way.is_open, way.switches, way.configures) == ("community row-1", True, True, True)
    assert (way.proof, way.in_clear, way.origin.prefixes) == (Proof.WELL_KNOWN, True, ("192.0.2.0/26",))


def test_filters_of_card_and_service_are_intersected(record: dict[str, Any]) -> None:
    """A service is open to the addresses that its own filter and the card's both let in."""
    record["services"]["modbus_tcp"] = {
        "enabled": True,
        "allows_write": True,
        "tls": False,
        "allowed_sources": {"prefixes": ["192.0.2.32/27", "10.0.0.0/8"]},
    }
    (way,) = through(record, Channel.MODBUS_TCP)
    assert (way.proof, way.switches, way.origin.place) == (Proof.NONE, True, Place.NETWORK)
    assert (way.origin.prefixes, way.origin.ipv4_addresses) == (("192.0.2.32/27",), 32)


def test_filters_without_a_common_address_close_the_way(record: dict[str, Any]) -> None:
    """Nobody can call a service whose filter has nothing in common with the card's."""
    record["services"]["modbus_tcp"] = {
        "enabled": True,
        "allows_write": True,
        "tls": False,
        "allowed_sources": {"prefixes": ["10.0.0.0/8"]},
    }
    assert through(record, Channel.MODBUS_TCP) == []


def test_a_harder_way_beside_an_easier_one_is_not_minimal(record: dict[str, Any]) -> None:
    """Without proof and from the same addresses, building protocol beats every login."""
    record["services"]["modbus_tcp"] = {
        "enabled": True,
        "allows_write": True,
        "tls": False,
        "allowed_sources": {"any": True},
    }
    easiest = minimal(switching(ways(record, CONTEXT)))
    on_network = [way for way in easiest if way.origin.place is Place.NETWORK and way.switches]
    assert [way.channel for way in on_network] == [Channel.MODBUS_TCP]


def test_an_administrator_gets_in_with_a_proof_of_their_own(record: dict[str, Any]) -> None:
    """Emergency account and console stay open; what asks for nothing is nobody's way to keep."""
    record["services"]["serial_console"]["requires_login"] = False
    found = {(way.channel, way.party) for way in administrator_ways(record, CONTEXT)}
    assert (Channel.HTTPS, "account break-glass") in found
    assert (Channel.SERIAL_CONSOLE, "anyone") not in found


def test_a_wireless_network_leads_to_the_ways_behind_it(record: dict[str, Any]) -> None:
    """Both proofs are asked for; a way without a filter is open, one with a filter perhaps."""
    record["network"]["allowed_sources"] = {"any": True}
    record["services"]["wifi"] = {
        "enabled": True,
        "security": "wpa2_personal",
        "passphrase": {"clear": "short7!"},
    }
    record["services"]["modbus_tcp"] = {
        "enabled": True,
        "allows_write": True,
        "tls": False,
        "allowed_sources": {"any": True},
    }
    found = {way.party: way for way in through(record, Channel.WIFI)}
    bus = found["anyone over modbus_tcp"]
    assert (bus.is_open, bus.proof, bus.switches, bus.origin.place) == (True, Proof.WEAK, True, Place.RADIO)
    assert bus.in_clear is False
    assert found["account break-glass over https"].is_open is None


def test_a_radio_that_was_not_captured_is_one_way_of_which_nothing_is_known(record: dict[str, Any]) -> None:
    """Unknown stays unknown, and is there to be shown."""
    del record["services"]["wifi"]
    (way,) = through(record, Channel.WIFI)
    assert (way.is_open, way.switches, way.proof) == (None, None, Proof.UNKNOWN)
