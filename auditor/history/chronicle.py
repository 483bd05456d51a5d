"""All sweeps in the order of time, walked once: how the estate stood after each, and every card's life."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from typing import TYPE_CHECKING

from auditor.dataclass import dataclass
from auditor.history.card_life import CardLife, Event, Seen
from auditor.history.card_result import CardResult
from auditor.history.standing import RunningSums, Standing, standing_of
from auditor.history.sweep import Series, Sweep

if TYPE_CHECKING:
    from datetime import datetime

GROUPINGS = ("site", "kind", "feeds")


@dataclass(frozen=True, slots=True)
class SweepPoint:
    """A sweep, and how the estate stood after it.

    The estate is every card as it was seen last, but those that the last sweep of their series
    missed. ``groups`` maps ``site``, ``kind`` and ``feeds`` to their groups by name. ``events``
    counts findings on the cards of this sweep; ``new_cards`` and ``missed_cards`` count its cards.
    """

    sweep: Sweep
    cards: int
    whole: Standing
    groups: Mapping[str, Mapping[str, Standing]]
    events: Mapping[Event, int]
    new_cards: int
    missed_cards: int


class Chronicle:
    """Takes sweeps in the order of time, and keeps the life of every card."""

    def __init__(self) -> None:
        """Begin before the first sweep."""
        self.cards: dict[str, CardLife] = {}
        self._sums: dict[tuple[str, ...], RunningSums] = {}
        self._rules: dict[frozenset[str], frozenset[str]] = {}
        self._members: dict[Series, set[str]] = {}
        self._begun: dict[Series, datetime] = {}

    def take(self, sweep: Sweep, results: Iterable[CardResult]) -> SweepPoint:
        """Take a sweep with its cards; return how the estate stood after it."""
        rules = frozenset(sweep.rules)
        seen = Seen(sweep, self._rules.setdefault(rules, rules))
        self._begun.setdefault(sweep.series, sweep.as_of)
        events: Counter[Event] = Counter()
        known = len(self.cards)
        now = {self._see(result, seen, events) for result in results}
        missed = self._miss(self._members.get(sweep.series, set()) - now, sweep)
        self._members[sweep.series] = now
        return SweepPoint(
            sweep, len(now), standing_of(self._sums.values()), self._groups(), events,
            len(self.cards) - known, missed,
        )  # fmt: skip

    def is_new(self, life: CardLife) -> bool:
        """Return whether a card came with the last sweep of its series, which has earlier ones."""
        once = life.first_seen == life.last_seen and life.missed is None
        return once and life.first_seen > self._begun[life.series]

    def _see(self, result: CardResult, seen: Seen, events: Counter[Event]) -> str:
        life = self.cards.get(result.card)
        if life is None:
            life = self.cards[result.card] = CardLife.begun(result, seen)
        elif life.missed is None:
            self._sum_of(life.result).add(life.result, -1)
        life.see(result, seen, events)
        self._sum_of(result).add(result)
        return result.card

    def _miss(self, gone: Iterable[str], sweep: Sweep) -> int:
        """Take out the cards that a sweep of their own series did not see; return how many."""
        lives = [life for life in map(self.cards.__getitem__, gone) if life.series == sweep.series]
        for life in lives:
            life.missed = sweep.as_of
            self._sum_of(life.result).add(life.result, -1)
        return len(lives)

    def _sum_of(self, result: CardResult) -> RunningSums:
        key = (result.site, result.kind, result.feeds)
        if key not in self._sums:
            self._sums[key] = RunningSums()
        return self._sums[key]

    def _groups(self) -> Mapping[str, Mapping[str, Standing]]:
        return {grouping: dict(self._grouped(place)) for place, grouping in enumerate(GROUPINGS)}

    def _grouped(self, place: int) -> Iterator[tuple[str, Standing]]:
        standing = {key: sums for key, sums in self._sums.items() if sums.cards}
        for name in sorted({key[place] for key in standing}):
            yield name, standing_of(sums for key, sums in standing.items() if key[place] == name)
