"""All ways in to a card, and the minimal ones: those beside which no other is easier. Holds no facts."""

from collections.abc import Iterable
from typing import Final

from auditor.facts.fact import Context, Settings
from auditor.facts.reach.local_ways import local_ways
from auditor.facts.reach.login_ways import login_ways, risky_login_ways
from auditor.facts.reach.machine_ways import machine_ways, risky_machine_ways
from auditor.facts.reach.radio_ways import radio_ways
from auditor.facts.reach.snmp_ways import risky_snmp_ways, snmp_ways
from auditor.facts.reach.way import Place, Proof, Way, is_easier


def ways(record: Settings, context: Context) -> tuple[Way, ...]:
    """Return every way in that is open or may be, channel by channel, in record order."""
    from_afar = (
        *snmp_ways(record, context),
        *login_ways(record, context),
        *machine_ways(record, context),
    )
    by_radio = radio_ways(from_afar, record, context)
    return (*from_afar, *local_ways(record, context), *by_radio)


def risky_ways(record: Settings, context: Context) -> tuple[Way, ...]:
    """Return the ways from afar by which something may be changed and ought not to be, in order.

    They are those of ``ways`` whose proof may be weak or easier, and those that may be heard from
    anywhere or open to the public internet. What they allow to read is left unknown. Left out is
    what a rule can't judge: ways at the card itself, and the listener for agents, of which no
    setting tells what it takes.
    """
    return (
        *risky_snmp_ways(record, context),
        *risky_login_ways(record, context),
        *risky_machine_ways(record, context),
    )


def minimal(found: Iterable[Way]) -> tuple[Way, ...]:
    """Return the ways beside which no other is surely easier in every respect, in order."""
    given = tuple(found)
    return tuple(way for way in given if not any(is_easier(other, way) for other in given))


def easiest_switching(found: Iterable[Way]) -> Way | None:
    """Return the way by which outputs are switched most easily, of those that surely do.

    Over the network comes before what the card calls, before radio, before the card itself: who
    stands there can pull the plug. Then counts how hard the proof may be at most, then what must be
    the case besides, clear text, and from how many addresses. Ties go to the first in the order of
    ``ways``. None where no way is sure.
    """
    sure = (way for way in found if way.is_open and way.switches)
    return min(sure, key=effort, default=None)


def effort(way: Way) -> tuple[int, int, bool, bool, bool, int]:
    """Return what puts ways in a row, the easiest first, as ``easiest_switching`` says."""
    origin = way.origin
    addresses = (origin.ipv4_addresses or 0) + (origin.ipv6_addresses or 0)
    place, proof = _PLACES.index(origin.place), _PROOFS.index(way.grade.hardest)
    anywhere = origin.any_address is True
    return place, proof, bool(way.condition), way.in_clear is not True, not anywhere, -addresses


_PLACES: Final = (Place.NETWORK, Place.OUTBOUND, Place.RADIO, Place.PRESENCE)
_PROOFS: Final = (
    Proof.NONE, Proof.WELL_KNOWN, Proof.FACTORY, Proof.WEAK, Proof.ADEQUATE, Proof.DIRECTORY, Proof.STRONG,
)  # fmt: skip
"""Proofs, easiest first, for putting ways in a row: a directory is taken to ask more than a password."""


def switching(found: Iterable[Way]) -> tuple[Way, ...]:
    """Return the ways by which outputs can be switched, or perhaps can, in order."""
    return tuple(way for way in found if way.switches is not False)


def administrator_ways(record: Settings, context: Context) -> tuple[Way, ...]:
    """Return the ways by which a rightful administrator can surely change settings, in order.

    Open for certain, and asking for a proof that somebody holds: a way that asks for none is
    open to everybody, and nobody's to keep.
    """
    return tuple(
        way
        for way in ways(record, context)
        if way.is_open and way.configures and way.grade.hardest is not Proof.NONE
    )
