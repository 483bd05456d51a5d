"""Digests of the parts of a record, by which records of one run are compared part by part.

A part is a section, or a member of one of those in which a few members are each card's own. The
digests are those of the interpreter, under a random key of the process (SipHash, PEP 456): they are
good for this run only, and two different parts share one with a probability of 1 in 2⁶⁴.
"""

from collections.abc import Mapping
from typing import Final

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


def written_with_digests(settings: Settings) -> tuple[bytes, Digests]:
    """Return the text of settings, as compact as it can be, and the digests of its parts."""
    texts, digests = {}, Digests()
    for name, section in settings.items():
        if name in APART:
            members = {member: orjson.dumps(value) for member, value in section.items()}
            digests[name] = THERE
            digests.update({f"{name}/{member}": hash(text) for member, text in members.items()})
            texts[name] = _object(members)
        else:
            texts[name] = orjson.dumps(section)
            digests[name] = hash(texts[name])
    return _object(texts), digests


def _object(members: Mapping[str, bytes]) -> bytes:
    """Return the text of an object whose member names need no escape."""
    return b"{%b}" % b",".join([b'"%b":%b' % (name.encode(), text) for name, text in members.items()])
