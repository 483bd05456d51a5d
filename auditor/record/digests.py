"""Digests of the parts of a record, by which records of one run are compared part by part.

A part is a section, or a member of one of those in which a few members are each card's own. The
digests are those of the interpreter, under a random key of the process (SipHash, PEP 456): they are
good for this run only, and two different parts share one with a probability of 1 in 2⁶⁴.
"""

from collections.abc import Mapping
from functools import cache
from typing import Final

import orjson

from auditor.record.schema import members_at
from auditor.record.settings import Settings

APART: Final = frozenset({"network", "snmp", "tls", "shutdown"})
"""Sections of which each member has a digest of its own: beside names, addresses, users and agents
of the card they hold what all cards share. Such a section has a digest too, which says no more than
that it is there."""

NOTHING: Final = 0
THERE: Final = 1


class Digests(dict[str, int]):
    """Digests by name: ``mail`` for a section, ``network/hostname`` for a member of one of ``APART``.

    What is not there has a digest too, the same everywhere.
    """

    def __missing__(self, _name: str) -> int:
        """Return the digest of nothing."""
        return NOTHING


def digests_of(settings: Settings) -> Digests:
    """Return the digests of the parts of settings as they were read, no secret wrapped yet."""
    write, names_apart, digests = orjson.dumps, _names_apart(), Digests()
    for name, section in settings.items():
        names = names_apart.get(name)
        if names is None:
            digests[name] = hash(write(section))
        else:
            digests[name] = THERE
            for member, value in section.items():
                digests[names[member]] = hash(write(value))
    return digests


@cache
def _names_apart() -> Mapping[str, Mapping[str, str]]:
    """Return the names of the members that have digests of their own, by section and member."""
    return {name: {member: f"{name}/{member}" for member in members_at((name,))} for name in APART}
