"""Who can switch the load off, over an estate: cards by their easiest way, and what closes most ways.

Takes cards one by one and keeps counts and the easiest cards only.
"""

import heapq
from collections import Counter
from collections.abc import Iterable, Sequence
from enum import StrEnum
from typing import Final, NamedTuple, TypeAlias

from auditor.dataclass import dataclass
from auditor.facts.reach.closing import Closing, closings
from auditor.facts.reach.way import Origin, Place, Proof, Way
from auditor.facts.reach.ways import easiest_switching, effort, switching, ways
from auditor.record.pointer import pattern
from auditor.scoring.assessment import CardAssessment, CardIdentity

KEPT_CARDS: Final = 200
"""So many cards, those with the easiest ways, are named."""


class From(StrEnum):
    """From where the easiest way of a card is open, in few kinds; the widest first."""

    ANYWHERE = "any_address"
    LISTED = "listed_addresses"
    NOT_KNOWN = "addresses_not_known"
    OUTBOUND = "outbound"
    RADIO = "radio"
    PRESENCE = "presence"


class Sureness(StrEnum):
    """What is known of switching on a card without a way that surely does."""

    MAY = "may_switch"
    NO = "none"


class EasiestCard(NamedTuple):
    """A card with its easiest way to switch, and how many ways surely switch."""

    card: CardIdentity
    way: Way
    ways: int


class ChangeSum(NamedTuple):
    """The same change of one setting on every card where it closes a way.

    ``*`` in ``pointer`` stands for one member of a list, on each card that whose change closes most.
    ``closes`` counts the ways that surely switch and would be closed, ``unsure`` those that would
    no longer be known to switch but may, ``cards`` the cards where it closes some, and
    ``cards_without`` those of them that no way that surely switches would be left on.
    """

    pointer: str
    change: str
    closes: int
    unsure: int
    cards: int
    cards_without: int


@dataclass(frozen=True, slots=True)
class ReachSummary:
    """Who can switch outputs over an estate.

    ``by_easiest`` counts cards by the proof that their easiest way asks for and from where;
    ``unsure`` counts the cards on which no way is sure, ``closed`` those on which none may switch.
    ``easiest`` are the cards with the easiest ways, at most ``KEPT_CARDS``, ties by card id.
    ``changes`` stand by the ways that they close, most first, ties by pointer.
    """

    by_easiest: dict[tuple[Proof, From], int]
    unsure: int
    closed: int
    easiest: tuple[EasiestCard, ...]
    changes: tuple[ChangeSum, ...]

    @property
    def cards(self) -> int:
        """Return how many cards were looked at."""
        return sum(self.by_easiest.values()) + self.unsure + self.closed

    @property
    def open(self) -> int:
        """Return how many cards have a way that surely switches."""
        return sum(self.by_easiest.values())

    def number(self, proofs: Iterable[Proof], places: Iterable[From] = tuple(From)) -> int:
        """Return how many cards have an easiest way with one of these proofs, from one of these places."""
        chosen = frozenset(places)
        return sum(self.by_easiest.get((proof, place), 0) for proof in proofs for place in chosen)


_Hardest: TypeAlias = tuple[tuple[int, ...], tuple[int, ...]]
"""What orders kept cards: the hardest way first, then the last id, so that these go first."""


class ReachSums:
    """Takes cards one by one and gives the sums at the end."""

    def __init__(self, *, kept: int = KEPT_CARDS) -> None:
        """Start with no card; so many are named."""
        self._kept = kept
        self._named = 0
        self._counts: Counter[tuple[Proof, From]] = Counter()
        self._without: Counter[Sureness] = Counter()
        self._easiest: list[tuple[_Hardest, int, EasiestCard]] = []
        self._changes: dict[str, list[int]] = {}
        self._words: dict[str, str] = {}

    def add(self, assessment: CardAssessment) -> None:
        """Add one card, by what it was judged by; one without is passed over."""
        if assessment.basis is not None:
            self.add_ways(assessment.card, ways(*assessment.basis))

    def add_ways(self, card: CardIdentity, found: Sequence[Way]) -> None:
        """Add the ways in to one card."""
        easiest = easiest_switching(found)
        if easiest is None:
            self._without[Sureness.MAY if switching(found) else Sureness.NO] += 1
            return
        self._counts[easiest.proof, kind_of(easiest.origin)] += 1
        sure = sum(1 for way in found if way.is_open and way.switches)
        self._keep(EasiestCard(card, easiest, sure))
        self._add_changes(found, sure)

    def summary(self) -> ReachSummary:
        """Return the sums over all cards added so far."""
        return ReachSummary(
            dict(self._counts),
            self._without[Sureness.MAY],
            self._without[Sureness.NO],
            tuple(card for _, _, card in sorted(self._easiest, reverse=True)),
            tuple(sorted(map(self._change, self._changes), key=_closes_most)),
        )

    def _keep(self, card: EasiestCard) -> None:
        hardest = (
            tuple(-int(part) for part in effort(card.way)),
            tuple(-ord(letter) for letter in card.card.id),
        )
        entry = (hardest, len(self._easiest), card)
        if len(self._easiest) < self._kept:
            heapq.heappush(self._easiest, entry)
        elif self._easiest and entry > self._easiest[0]:
            heapq.heapreplace(self._easiest, entry)

    def _add_changes(self, found: Iterable[Way], sure: int) -> None:
        best: dict[str, Closing] = {}
        for closing in closings(found):  # those that close most come first
            best.setdefault(pattern(closing.pointer), closing)
        for name, closing in best.items():
            self._words.setdefault(name, closing.change)
            sums = self._changes.setdefault(name, [0, 0, 0, 0])
            sums[0] += closing.closes
            sums[1] += closing.unsure
            sums[2] += 1
            sums[3] += closing.closes + closing.unsure == sure

    def _change(self, name: str) -> ChangeSum:
        return ChangeSum(name, self._words[name], *self._changes[name])


def kind_of(origin: Origin) -> From:
    """Return from where a way is open, in one of few kinds."""
    if origin.place is not Place.NETWORK:
        return _KINDS[origin.place]
    if origin.any_address:
        return From.ANYWHERE
    return From.LISTED if origin.prefixes else From.NOT_KNOWN


_KINDS: Final = {Place.OUTBOUND: From.OUTBOUND, Place.RADIO: From.RADIO, Place.PRESENCE: From.PRESENCE}


def _closes_most(change: ChangeSum) -> tuple[int, str]:
    return -change.closes, change.pointer
