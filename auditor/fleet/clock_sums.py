"""Whether events on two cards of a site can be put in order, by what bounds their clocks.

Takes cards one by one and keeps, of each site, counts and the clocks that are off the most.
"""

from typing import Final, NamedTuple

from auditor.dataclass import dataclass, field
from auditor.facts.clock import clock_uncertainty_s
from auditor.facts.event_order import apart_to_order_s
from auditor.scoring.assessment import CardAssessment

NAMED: Final = 4
"""So many cards of a site whose clock nothing bounds are named."""

_PAIR: Final = 2


class LooseClock(NamedTuple):
    """By how many seconds the time of an event on a card may be off."""

    uncertainty_s: float
    card_id: str


@dataclass(frozen=True, slots=True)
class SiteClocks:
    """The clocks of the cards of a site.

    Nothing bounds those of ``unbounded`` cards, the first ``NAMED`` of which are ``unbounded_ids``.
    ``loosest`` are the two others that may be off the most, the most first.
    """

    site: str
    cards: int
    unbounded: int
    unbounded_ids: tuple[str, ...]
    loosest: tuple[LooseClock, ...]

    @property
    def apart_s(self) -> float | None:
        """Return how far apart any two events on two cards with a bound must be; None without two such."""
        if len(self.loosest) < _PAIR:
            return None
        one, other = self.loosest
        return apart_to_order_s(one.uncertainty_s, other.uncertainty_s)


@dataclass(slots=True)
class _Running:
    """The clocks of a site while cards come in."""

    cards: int = 0
    unbounded: int = 0
    unbounded_ids: list[str] = field(default_factory=list)
    loosest: list[LooseClock] = field(default_factory=list)

    def add(self, card_id: str, uncertainty_s: float | None) -> None:
        self.cards += 1
        if uncertainty_s is not None:
            # Most clocks of a site are tighter than its two loosest: nothing is sorted for these.
            if len(self.loosest) < _PAIR or uncertainty_s >= self.loosest[-1].uncertainty_s:
                several = [*self.loosest, LooseClock(uncertainty_s, card_id)]
                self.loosest = sorted(several, key=_loosest_first)[:_PAIR]
            return
        self.unbounded += 1
        if len(self.unbounded_ids) < NAMED:
            self.unbounded_ids.append(card_id)


class ClockSums:
    """Takes cards one by one and gives the clocks of each site at the end."""

    def __init__(self) -> None:
        """Start with no card."""
        self._sites: dict[str, _Running] = {}

    def add(self, assessment: CardAssessment) -> None:
        """Add one card, by what it was judged by; one without is passed over."""
        if assessment.basis is not None:
            card = assessment.card
            self.add_clock(card.site, card.id, clock_uncertainty_s(assessment.basis.settings))

    def add_clock(self, site: str, card_id: str, uncertainty_s: float | None) -> None:
        """Add the clock of one card; None where nothing bounds it."""
        self._sites.setdefault(site, _Running()).add(card_id, uncertainty_s)

    def summary(self) -> tuple[SiteClocks, ...]:
        """Return the sites with several cards: those first where least can be told, ties by site.

        Least is told where nothing bounds the clocks of most cards, then where they may be off the most.
        """
        several = (
            SiteClocks(site, run.cards, run.unbounded, tuple(run.unbounded_ids), tuple(run.loosest))
            for site, run in self._sites.items()
            if run.cards >= _PAIR
        )
        return tuple(sorted(several, key=_least_told_first))


def _loosest_first(clock: LooseClock) -> tuple[float, str]:
    return -clock.uncertainty_s, clock.card_id


def _least_told_first(clocks: SiteClocks) -> tuple[float, float, str]:
    return -clocks.unbounded, -(clocks.apart_s or 0), clocks.site
