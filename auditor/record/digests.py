"""Digests of the parts of a record, by which records of one run are compared part by part.

A part is a section, or a member of one of those in which a few members are each card's own. The
digests are those of the interpreter, under a random key of the process (SipHash, PEP 456): they are
good for this run only, and two different parts share one with a probability of 1 in 2⁶⁴.
"""

from typing import Any, Final, NamedTuple

import orjson

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


class Apart(NamedTuple):
    """What a record comes to part by part: digests of the parts, and all of them as compact JSON."""

    digests: Digests
    text: bytes


def taken_apart(settings: Settings) -> Apart:
    """Return the digests of the parts of settings as they were read, no secret wrapped yet.

    The parts are written for their digests, so the whole text hardly takes any more work.
    """
    digests, parts = Digests(), dict[str, Any]()
    for name, section in settings.items():
        if name in APART:
            digests[name] = THERE
            members = parts[name] = dict[str, orjson.Fragment]()
            for member, value in section.items():
                text = orjson.dumps(value)
                digests[f"{name}/{member}"] = hash(text)
                members[member] = orjson.Fragment(text)
        else:
            text = orjson.dumps(section)
            digests[name] = hash(text)
            parts[name] = orjson.Fragment(text)
    return Apart(digests, orjson.dumps(parts))
