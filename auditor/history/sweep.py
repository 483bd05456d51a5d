"""One dated sweep: when, over which part of the estate, by which rules, and what it came to.

Holds no result of a card; those are named by their digests where the sweep's own is made.
"""

import hashlib
from collections.abc import Iterable, Mapping
from dataclasses import asdict
from datetime import date, datetime
from typing import Any, NamedTuple

import orjson

from auditor.dataclass import dataclass, field
from auditor.scoring.band import Band


class Series(NamedTuple):
    """Sweeps that are compared with each other: made in one store, over one part of the estate."""

    origin: str
    part: str


@dataclass(frozen=True, slots=True)
class SharedGroup:
    """A secret or key that several cards share, as a sweep saw it: kind, band, number of cards."""

    kind: str
    band: Band
    cards: int


@dataclass(frozen=True, slots=True)
class KeptDeviation:
    """A deviation as a sweep knew it, with how many findings it covered there.

    ``cards`` are patterns of ids, ``member`` is empty for every member; ``owner`` and ``ticket``
    may be empty. ``expires`` is the last day on which it holds.
    """

    rule: str
    cards: tuple[str, ...]
    member: str
    owner: str
    ticket: str
    expires: date
    findings: int


@dataclass(frozen=True, slots=True)
class Sweep:
    """What is kept of a sweep beside its cards.

    ``id`` is random, 32 hexadecimal digits, and ``origin`` the id of the store that it was made
    in. ``as_of`` is in UTC, to the second. ``rules`` maps the id of each rule that judged to its
    title: of any other, the sweep says nothing. ``every_days`` and ``capture_age_maximum_days``
    are the site's calendar, None where no ruleset has one.
    """

    id: str
    origin: str
    part: str
    as_of: datetime
    version: str
    operator: str
    rulesets: tuple[str, ...]
    rules: Mapping[str, str] = field(repr=False)
    hold_at: Band
    held: bool
    unusable: int
    every_days: float | None
    capture_age_maximum_days: float | None
    shared: tuple[SharedGroup, ...] = ()
    deviations: tuple[KeptDeviation, ...] = ()

    @property
    def series(self) -> Series:
        """Return the series that the sweep belongs to."""
        return Series(self.origin, self.part)


def by_time(sweep: Sweep) -> tuple[datetime, str]:
    """Return the sort key of sweeps: the earlier first, then by id, so that all copies agree."""
    return (sweep.as_of, sweep.id)


def to_bytes(sweep: Sweep) -> bytes:
    """Return a sweep as one line of JSON, always the same for the same sweep."""
    return orjson.dumps(asdict(sweep), option=orjson.OPT_SORT_KEYS)


def from_bytes(text: bytes) -> Sweep:
    """Return the sweep that ``to_bytes`` wrote."""
    document: dict[str, Any] = orjson.loads(text)
    shared = (SharedGroup(one["kind"], Band(one["band"]), one["cards"]) for one in document["shared"])
    document.update(
        as_of=datetime.fromisoformat(document["as_of"]),
        rulesets=tuple(document["rulesets"]),
        hold_at=Band(document["hold_at"]),
        shared=tuple(shared),
        deviations=tuple(_deviation(one) for one in document["deviations"]),
    )
    return Sweep(**document)


def _deviation(document: Mapping[str, Any]) -> KeptDeviation:
    cards, expires = tuple(document["cards"]), date.fromisoformat(document["expires"])
    return KeptDeviation(**{**document, "cards": cards, "expires": expires})


def digest_of_sweep(head: bytes, cards: Iterable[tuple[str, bytes]]) -> bytes:
    """Return the digest of a sweep: its head, then id and result digest of each card by id."""
    made = hashlib.sha256(head)
    for card_id, digest in cards:
        named = card_id.encode()
        made.update(len(named).to_bytes(4, "big") + named + digest)
    return made.digest()
