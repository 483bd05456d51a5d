"""Ways in to a card in words, the same in every format. Orders nothing, holds no format."""

from collections.abc import Iterator, Mapping
from types import MappingProxyType
from typing import Final

from auditor.facts.reach.way import Channel, Grade, Origin, Place, Proof, Truth3, Way

CHANNELS: Final[Mapping[Channel, str]] = MappingProxyType(
    {
        Channel.SNMP_V1: "SNMPv1",
        Channel.SNMP_V2C: "SNMPv2c",
        Channel.SNMP_V3: "SNMPv3",
        Channel.HTTP: "web, HTTP",
        Channel.HTTPS: "web, HTTPS",
        Channel.TELNET: "Telnet",
        Channel.SSH: "SSH",
        Channel.FTP: "FTP",
        Channel.TFTP: "TFTP",
        Channel.SFTP: "SFTP",
        Channel.SCP: "SCP",
        Channel.REST_API: "REST interface",
        Channel.MODBUS_TCP: "Modbus TCP",
        Channel.BACNET_IP: "BACnet/IP",
        Channel.MQTT: "MQTT broker",
        Channel.SHUTDOWN_AGENT: "agents' listener",
        Channel.SERIAL_CONSOLE: "serial console",
        Channel.USB: "USB port",
        Channel.WIFI: "Wi-Fi",
        Channel.BLUETOOTH: "Bluetooth",
        Channel.REMOTE_VENDOR_SERVICE: "vendor's service",
    }
)

PROOFS: Final[Mapping[Proof, str]] = MappingProxyType(
    {
        Proof.NONE: "no proof",
        Proof.WELL_KNOWN: "well-known secret",
        Proof.FACTORY: "factory secret",
        Proof.WEAK: "weak secret",
        Proof.ADEQUATE: "adequate secret",
        Proof.STRONG: "strong proof",
        Proof.DIRECTORY: "directory",
        Proof.UNKNOWN: "proof not known",
    }
)
"""Every proof in words, the most worrying first but for the last two."""

_PLACES: Final = {
    Place.PRESENCE: "at the card",
    Place.RADIO: "within radio range",
    Place.OUTBOUND: "the card's own call",
}
_SHORT_PLACES: Final = {Place.RADIO: "radio range", Place.OUTBOUND: "own call"}
_SHOWN_PREFIXES: Final = 2
_COUNTED_UP_TO: Final = 1 << 24

SWITCHES: Final = "switches at once"
MAY_SWITCH: Final = "may switch"
CHANGES: Final = "changes settings"
MAY_CHANGE: Final = "may change settings"
READS: Final = "reads"
MAY_READ: Final = "may read"
ALLOWED: Final = (SWITCHES, MAY_SWITCH, CHANGES, MAY_CHANGE, READS, MAY_READ)
"""What a way allows at most, the gravest first: who changes settings can open a way to switch."""


def truth_words(truth: Truth3) -> str:
    """Return ``yes``, ``no`` or ``not known``."""
    if truth is None:
        return "not known"
    return "yes" if truth else "no"


def allowed_words(way: Way) -> str:
    """Return the gravest that a way allows, one of ``ALLOWED``; what may be closed only may."""
    for truth, surely, perhaps in (
        (way.switches, SWITCHES, MAY_SWITCH),
        (way.configures, CHANGES, MAY_CHANGE),
        (way.reads, READS, MAY_READ),
    ):
        if truth is not False:
            return surely if truth and way.is_open else perhaps
    return MAY_READ


def proof_words(grade: Grade) -> str:
    """Return the proof that is asked for; where it may be one of several, between which."""
    if grade.proof is not Proof.UNKNOWN:
        return PROOFS[grade.proof]
    between = between_words(grade)
    return f"not known: {between}" if between else PROOFS[Proof.UNKNOWN]


def between_words(grade: Grade) -> str:
    """Return between which proofs one lies that is not known; empty where it may be any."""
    if (grade.easiest, grade.hardest) == (Proof.NONE, Proof.STRONG):
        return ""
    return f"{_short(grade.easiest)} to {_short(grade.hardest)}"


def short_proof_words(grade: Grade) -> str:
    """Return the proof in as few letters as a narrow column has."""
    if grade.proof is not Proof.UNKNOWN:
        return _short(grade.proof)
    return between_words(grade) or "not known"


def _short(proof: Proof) -> str:
    return proof.value.replace("_", "-")


def origin_words(origin: Origin) -> str:
    """Return from where a way is open; ``from`` goes before it where that is a network."""
    if origin.place is not Place.NETWORK:
        return _PLACES[origin.place]
    if origin.any_address:
        return f"any address{_public(origin, ', the internet too', ', perhaps the internet too')}"
    if not origin.prefixes:
        return "addresses not known"
    more = len(origin.prefixes) - _SHOWN_PREFIXES
    shown = ", ".join(origin.prefixes[:_SHOWN_PREFIXES]) + (f" and {more} more" if more > 0 else "")
    return f"{shown}{_public(origin, ', public ones too', '')}"


def short_origin_words(origin: Origin) -> str:
    """Return from where a way is open in as few letters as a narrow column has."""
    if origin.place is not Place.NETWORK:
        return _SHORT_PLACES.get(origin.place) or origin_words(origin)
    if not origin.any_address and not origin.prefixes:
        return "not known"
    if origin.any_address:
        return "the internet" if origin.is_globally_routable else "any address"
    first, *others = origin.prefixes or ()
    return f"{first} +{len(others)}" if others else first


def _public(origin: Origin, surely: str, perhaps: str) -> str:
    return perhaps if origin.is_globally_routable is None else surely if origin.is_globally_routable else ""


def addresses_words(origin: Origin) -> str:
    """Return how many addresses a list lets in; empty where that is not known or says nothing."""
    counts = origin.ipv4_addresses, origin.ipv6_addresses
    if origin.place is not Place.NETWORK or not origin.prefixes or None in counts:
        return ""
    number = sum(count or 0 for count in counts)
    if number > _COUNTED_UP_TO:
        return f"more than {_COUNTED_UP_TO:,} addresses"
    return f"{number:,} {'address' if number == 1 else 'addresses'}"


def notes_of(way: Way) -> Iterator[str]:
    """Yield what else must be known of a way, in words."""
    if way.is_open is None:
        yield "whether it is open is not known"
    if way.condition:
        yield f"only {way.condition}"
    if way.confirmation and way.switches is not False:
        yield "switching asks a second time"
