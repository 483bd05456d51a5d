"""The order in which a visit to a card reads its settings, and what is still to be read.

Which stop comes first, and what is left out of a visit: common practice, no source.
"""

import re
from collections.abc import Iterator, Sequence
from functools import cache
from typing import Any

from auditor.dataclass import dataclass
from auditor.record.outline import ANY, Leaf, outline
from auditor.record.pointer import value_at
from auditor.record.settings import Settings


@dataclass(frozen=True, slots=True)
class Stop:
    """One stop of a visit: its name, how to work there, and which sections are read there, in order."""

    title: str
    how: tuple[str, ...]
    sections: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """A setting at its place in one card: list indexes are numbers from 0."""

    leaf: Leaf
    tokens: tuple[str, ...]


VISIT = (
    Stop(
        "At the equipment: labels and serial console",
        (
            "Serial console: 9600 bit/s, 8 data bits, no parity, 1 stop bit (8-N-1), no flow control.",
            "These figures are common practice, no source: the label or manual of the card goes before them.",
            "Use the cable that belongs to the card. Another may short the port, or signal a shutdown.",
            "Read only: leave every menu without saving. Log out at the end.",
        ),
        (("services", "serial_console"), ("card",), ("equipment",), ("capture",)),
    ),
    Stop("Addressing", ("At the console, or on the network page of the card.",), (("network",),)),
    Stop(
        "On the card's web pages",
        (
            "Log in with an account that may only look, if there is one that sees all pages.",
            "Read only: do not press a button that saves, tests, restarts or switches.",
        ),
        tuple(
            (name,)
            for name in (
                "accounts",
                "access_policy",
                "services",
                "tls",
                "ssh",
                "snmp",
                "directory",
                "time",
                "log",
                "mail",
                "shutdown",
                "probe",
                "maintenance",
                "site_notes",
            )
        ),
    ),
)

NOT_READ = frozenset(
    {("capture", "method"), ("capture", "source_digest"), ("tls", "certificate", "pem"), ("unmapped",)}
)
"""Settings that nobody reads off by hand: they belong to files, or are a file."""

_CERTIFICATE = ("tls", "certificate")


@cache
def leaves_of(section: tuple[str, ...]) -> tuple[Leaf, ...]:
    """Return the settings that a visit reads in a section, each in one section only."""
    longer = [
        other for stop in VISIT for other in stop.sections if other != section and _begins(other, section)
    ]
    return tuple(
        leaf
        for leaf in outline()
        if _begins(leaf.tokens, section)
        and leaf.tokens not in NOT_READ
        and not any(_begins(leaf.tokens, other) for other in longer)
    )


def spots_of(section: tuple[str, ...], settings: Settings, room: int = 0) -> Iterator[Spot]:
    """Yield the places of a section in one card, known or not, in the order of the schema.

    A list of objects comes before its members. Where it is not known, it has ``room`` members.
    What a certificate in the record tells by itself is left out.
    """
    for spot in _spots(leaves_of(section), settings, (), room):
        if not _told_by_certificate(spot, settings):
            yield spot


def is_known(spot: Spot, settings: Settings) -> bool:
    """Tell whether a record holds a setting."""
    return value_at(settings, spot.tokens) is not None


def _begins(tokens: Sequence[str], with_: Sequence[str]) -> bool:
    return tuple(tokens[: len(with_)]) == tuple(with_)


def _spots(leaves: Sequence[Leaf], settings: Settings, at: tuple[str, ...], room: int) -> Iterator[Spot]:
    """Yield the spots of settings whose first tokens stand for the place ``at``."""
    rest = list(leaves)
    while rest:
        leaf = rest.pop(0)
        tokens = (*at, *leaf.tokens[len(at) :])
        yield Spot(leaf, tokens)
        if leaf.kind == "members":
            inside = [inner for inner in rest if _begins(inner.tokens, (*leaf.tokens, ANY))]
            rest = rest[len(inside) :]
            for index in range(_size(value_at(settings, tokens), room)):
                yield from _spots(inside, settings, (*tokens, str(index)), room)


def _size(members: Any, room: int) -> int:  # noqa: ANN401 - any JSON value
    return room if members is None else len(members)


def _told_by_certificate(spot: Spot, settings: Settings) -> bool:
    inside = spot.tokens[:2] == _CERTIFICATE and spot.tokens[2] != "is_factory"
    return inside and value_at(settings, (*_CERTIFICATE, "pem")) is not None


def as_question(leaf: Leaf) -> str:
    """Return the schema's words on a setting, such that yes or no answers those on a truth."""
    words = leaf.description
    if leaf.kind != "boolean":
        return words
    return _FALSE_WORD.sub("no", _TRUE_WORD.sub("Yes", words))


_TRUE_WORD = re.compile(r"^True\b")
_FALSE_WORD = re.compile(r"\bfalse\b")


def path_of(spot: Spot) -> tuple[str, ...]:
    """Return the titles that lead to a setting and its own; members of lists have numbers from 1."""
    path: list[str] = []
    titles = iter((*spot.leaf.titles, spot.leaf.title))
    for token in spot.tokens:
        if token.isdecimal():
            path[-1] = f"{path[-1]} {int(token) + 1}"
        else:
            path.append(next(titles))
    return tuple(path)
