"""All ways in to a card, and the minimal ones: those beside which no other is easier. Holds no facts."""

from collections.abc import Iterable

from auditor.facts.fact import Context, Settings
from auditor.facts.reach.local_ways import local_ways
from auditor.facts.reach.login_ways import login_ways, risky_login_ways
from auditor.facts.reach.machine_ways import machine_ways, risky_machine_ways
from auditor.facts.reach.snmp_ways import risky_snmp_ways, snmp_ways
from auditor.facts.reach.way import Proof, Way, is_easier


def ways(record: Settings, context: Context) -> tuple[Way, ...]:
    """Return every way in that is open or may be, channel by channel, in record order."""
    return (
        *snmp_ways(record, context),
        *login_ways(record, context),
        *machine_ways(record, context),
        *local_ways(record, context),
    )


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
