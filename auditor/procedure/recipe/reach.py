"""The recipe for ways in that are too easy: each is closed for writing, or gets a new secret."""

from collections.abc import Iterator, Mapping
from typing import Final

from auditor.facts.reach.way import Channel, Place, Proof, Way
from auditor.facts.reach.ways import ways
from auditor.procedure.bench import Bench
from auditor.procedure.edit import Edit
from auditor.procedure.new_secret import new_secret
from auditor.record.pointer import split, value_at
from auditor.record.settings import Settings

_EASY: Final = frozenset({Proof.NONE, Proof.WELL_KNOWN, Proof.FACTORY, Proof.WEAK})

_READING: Final[Mapping[Channel, str]] = {
    Channel.MODBUS_TCP: "allows_write",
    Channel.BACNET_IP: "allows_write",
    Channel.REST_API: "allows_write",
    Channel.REMOTE_VENDOR_SERVICE: "allows_write",
    Channel.MQTT: "accepts_commands",
    Channel.TFTP: "accepts_uploads",
}
"""What is switched off so that a channel only tells."""

_OFF: Final = frozenset(
    {Channel.HTTP, Channel.TELNET, Channel.FTP, Channel.USB, Channel.WIFI, Channel.BLUETOOTH}
)
"""Channels that are switched off whole: another takes their place, or a visit does."""

_WIFI: Final = ("services", "wifi", "enabled")
_COMMUNITIES: Final = frozenset({Channel.SNMP_V1, Channel.SNMP_V2C})


def close_ways(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Take writing from each way that is too easy, or give it a new secret, until none is left to see."""
    told: set[tuple[str, ...]] = set()
    wifi = record.get("services", {}).get("wifi", {})
    if wifi.get("enabled") and wifi.get("security") in ("open", "wep", "wpa_personal"):
        told.add(_WIFI)
        yield Edit(_WIFI, value=False)
    for way in ways(record, bench.context):
        if (way.switches or way.configures) and _is_too_easy(way):
            for edit in _closed(way, record, bench):
                if edit.tokens not in told:
                    told.add(edit.tokens)
                    yield edit


def _is_too_easy(way: Way) -> bool:
    heard = bool(way.in_clear and way.origin.any_address)
    outside = way.origin.place in (Place.RADIO, Place.OUTBOUND) or bool(way.origin.is_globally_routable)
    return way.grade.hardest in _EASY or way.proof in _EASY or heard or outside


def _closed(way: Way, record: Settings, bench: Bench) -> Iterator[Edit]:
    if way.channel in _READING:
        yield Edit(("services", str(way.channel), _READING[way.channel]), value=False)
    elif way.channel in _OFF:
        yield Edit(("services", str(way.channel), "enabled"), value=False)
    elif way.channel in _COMMUNITIES:
        yield Edit((*split(way.pointer)[:3], "access"), "read")
    elif isinstance(value_at(record, split(way.proof_at)), dict) and way.proof_at.endswith("password"):
        yield from _new_password(split(way.proof_at), bench)


def _new_password(tokens: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    least = int(str(bench.value("password_characters_minimum", 0)))
    yield new_secret(bench.card_id, tokens, least)
    yield Edit((*tokens[:-1], "password_is_factory"), value=False)
