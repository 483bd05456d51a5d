"""The ways in to a card, ordered and counted for every report. Holds no format."""

from collections import Counter
from collections.abc import Sequence
from typing import Final

from auditor.dataclass import dataclass
from auditor.facts.reach.closing import Closing, best_closing
from auditor.facts.reach.way import Place, Way
from auditor.facts.reach.ways import easiest_switching, effort, minimal, ways
from auditor.report.verdict import counted
from auditor.report.way_words import (
    ALLOWED,
    CHANGES,
    CHANNELS,
    MAY_CHANGE,
    MAY_SWITCH,
    READS,
    SWITCHES,
    allowed_words,
    origin_words,
    proof_words,
)
from auditor.scoring.assessment import CardAssessment

TITLE = "Ways to switch the load off"
ASK_FIRST = "Ask first who works that way."
LOCK_OUT = (
    "What closes ways in may shut everybody out: prove another way in first. "
    "The command procedure plans mends so that a way in stays open."
)
NONE_EASIER = "no other way is known to be easier in every respect"
"""What a minimal way is, in words: there can be several."""

_ACTS: Final = (SWITCHES, MAY_SWITCH, CHANGES, MAY_CHANGE)


@dataclass(frozen=True, slots=True)
class Lane:
    """Ways that differ in nothing but the channel and who holds the proof: one row of a picture.

    ``ways`` are those ways: everyone of ``parties`` over every one of ``channels``. ``is_minimal`` tells
    whether no other way to the card is easier in every respect.
    """

    ways: tuple[Way, ...]
    is_minimal: bool

    @property
    def way(self) -> Way:
        """Return a way that stands for all."""
        return self.ways[0]

    @property
    def parties(self) -> tuple[str, ...]:
        """Return who can go this way."""
        return tuple(dict.fromkeys(way.party for way in self.ways))

    @property
    def channels(self) -> tuple[str, ...]:
        """Return over what it goes."""
        return tuple(dict.fromkeys(CHANNELS[way.channel] for way in self.ways))

    @property
    def allows(self) -> str:
        """Return the gravest that it allows."""
        return allowed_words(self.way)

    @property
    def is_sure(self) -> bool:
        """Return whether it is known to be open and to allow what it says."""
        return self.allows in (SWITCHES, CHANGES, READS)


@dataclass(frozen=True, slots=True)
class CardReach:
    """The ways in to a card: those to switch first, then those to change settings, then the rest.

    Within each, those that are easiest first. ``ways`` holds each way with whether it is minimal;
    ``lanes`` has them joined.
    """

    ways: tuple[tuple[Way, bool], ...]

    @property
    def lanes(self) -> tuple[Lane, ...]:
        """Return the ways, those joined that differ in channel and party alone."""
        by_channel: dict[tuple[object, ...], list[Way]] = {}
        for way, is_minimal in self.ways:
            by_channel.setdefault((way.channel, is_minimal, *_apart_from_who(way)), []).append(way)
        joined: dict[tuple[object, ...], list[Way]] = {}
        for (_, *rest), alike in by_channel.items():
            joined.setdefault((*rest, *(way.party for way in alike)), []).extend(alike)
        return tuple(Lane(tuple(alike), bool(key[0])) for key, alike in joined.items())

    @property
    def acting(self) -> tuple[Lane, ...]:
        """Return the lanes by which outputs or settings can be touched, or perhaps can."""
        return tuple(
            lane for lane in self.lanes if lane.allows in (SWITCHES, MAY_SWITCH, CHANGES, MAY_CHANGE)
        )

    def shown(self, most: int) -> tuple[tuple[Lane, ...], int]:
        """Return the first acting lanes, and how many ways are then left out, those that read too."""
        lanes = self.acting[:most]
        return lanes, len(self.ways) - sum(len(lane.ways) for lane in lanes)

    @property
    def easiest(self) -> Way | None:
        """Return the easiest of the ways that surely switch; None where none does."""
        return easiest_switching(way for way, _ in self.ways)

    @property
    def closing(self) -> Closing | None:
        """Return the change of one setting that closes the most ways that surely switch; None without."""
        return best_closing(way for way, _ in self.ways)

    @property
    def closing_sentence(self) -> str:
        """Return that change in words; empty where there is none."""
        closing = self.closing
        if closing is None:
            return ""
        unsure = f"; of {closing.unsure} more it is then not known" if closing.unsure else ""
        said = f"One change closes {closing.closes} of them{unsure}: {closing.pointer}, {closing.change}."
        return f"{said} {ASK_FIRST}" + (f" {LOCK_OUT}" if closing.shuts_out else "")

    def number(self, *allowed: str) -> int:
        """Return how many ways allow one of these at most."""
        return sum(allowed_words(way) in allowed for way, _ in self.ways)

    @property
    def sums(self) -> str:
        """Return how many ways there are and what they allow, in words."""
        counts = Counter(allowed_words(way) for way, _ in self.ways)
        said = [f"{counts[allowed]} {_SUMS[allowed]}" for allowed in ALLOWED if counts[allowed]]
        return f"{counted(len(self.ways), 'way')} in" + (f": {', '.join(said)}" if said else "")

    @property
    def sentence(self) -> str:
        """Return the most important in a sentence."""
        if self.easiest:
            return f"The easiest that is known: {way_text(self.easiest)}."
        if not self.ways:
            return "The record shows no way in."
        perhaps = self.number(MAY_SWITCH)
        if perhaps:
            are = "way may" if perhaps == 1 else "ways may"
            return f"No way is known for certain to switch outputs, but {perhaps} {are}."
        return "By what the record says, nobody can switch outputs without a change of settings."


_SUMS: Final = dict(
    zip(
        ALLOWED,
        ("to switch at once", "that may switch", "to change settings", "that may change settings",
         "to read", "that may read"),
        strict=True,
    )
)  # fmt: skip


def reach_of(assessment: CardAssessment) -> CardReach | None:
    """Return the ways in to a card, worked out anew at each call: it takes a millisecond or more.

    None for a card without what it was judged by, of which no report is to show ways.
    """
    return None if assessment.basis is None else ordered(ways(*assessment.basis))


def ordered(found: Sequence[Way]) -> CardReach:
    """Return ways in the order in which reports show them."""
    easiest = {id(way) for way in minimal(found)}
    pairs = [(way, id(way) in easiest) for way in found]
    return CardReach(tuple(sorted(pairs, key=_gravest_first)))


def way_text(way: Way) -> str:
    """Return a way as one line: over what, who, with which proof, from where."""
    where = f"{'from ' if way.origin.place is Place.NETWORK else ''}{origin_words(way.origin)}"
    who = "" if way.party in _NOBODY else f"{way.party}, "
    return f"{CHANNELS[way.channel]}, {who}{proof_words(way.grade)}, {where}"


_NOBODY: Final = ("anyone", "the vendor's service")
"""Parties that say nothing which channel and proof don't."""


def _gravest_first(pair: tuple[Way, bool]) -> tuple[int, bool, tuple[float, ...]]:
    way, is_minimal = pair
    return ALLOWED.index(allowed_words(way)), not is_minimal, effort(way)


def _apart_from_who(way: Way) -> tuple[object, ...]:
    return (
        way.origin, way.grade, way.in_clear, way.is_open,
        way.reads, way.configures, way.switches, way.condition, way.confirmation,
    )  # fmt: skip
