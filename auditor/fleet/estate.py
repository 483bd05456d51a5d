"""Sums over an estate, card by card: nothing of a card is kept but what sums and the worst need."""

import heapq
from collections import Counter, defaultdict
from collections.abc import Iterable, Mapping
from itertools import chain
from typing import TYPE_CHECKING, TypeAlias

from auditor.dataclass import dataclass, field, replace
from auditor.errors import Fault
from auditor.fleet.addressing import AddressClashes
from auditor.fleet.reuse import Reuse
from auditor.intake.folder import is_empty_folder
from auditor.rules.program import Coverage, Program
from auditor.rules.result import Outcome, RuleResult
from auditor.rules.unusual import Batch
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.band import Band
from auditor.scoring.shared_secret import SharedSecret
from auditor.scoring.xccdf import Score

if TYPE_CHECKING:
    from auditor.fleet.clock_sums import ClockSums, SiteClocks
    from auditor.fleet.reach_sums import ReachSummary, ReachSums
    from auditor.scoring.accepted import Acceptance
    from auditor.scoring.deviation_finding import DeviationReview

DETAILED_CARDS = 500
"""So many cards, the worst, are shown in full where a report can't show all."""

GROUPINGS = ("site", "kind", "feeds")


@dataclass(frozen=True, slots=True)
class RuleSum:
    """How many single results of a rule passed, failed (or erred), are unknown; how many cards fail it."""

    passed: int
    failed: int
    unknown: int
    cards_failing: int


@dataclass(frozen=True, slots=True)
class GroupSum:
    """Sums over a group of cards.

    ``cards_by_worst`` counts cards by the band of their worst finding, ``findings_by_band``
    counts findings. ``rules`` maps rule id to its sums. ``score`` is the flat model, pooled:
    points and maxima of the cards are added. ``coverage_percent`` is the share
    of their results that are decided, as on a card, and None where nothing applies.
    """

    name: str
    cards: int
    score: Score
    coverage_percent: float | None
    cards_by_worst: Mapping[Band, int]
    findings_by_band: Mapping[Band, int]
    outcomes: Mapping[Outcome, int]
    rules: Mapping[str, RuleSum]
    accepted_score: Score
    """The score with accepted deviations set aside; equal to the score where there are none."""
    accepted_by_band: Mapping[Band, int]
    """Findings that a deviation covers."""
    cards_by_open_worst: Mapping[Band, int]
    """Cards by the band of their worst finding that no deviation covers."""

    @property
    def worst(self) -> Band:
        """Return the band of the worst finding of the group."""
        return max((band for band, count in self.cards_by_worst.items() if count), default=Band.NONE)

    @property
    def open_worst(self) -> Band:
        """Return the band of the worst finding of the group that no deviation covers."""
        return max((band for band, count in self.cards_by_open_worst.items() if count), default=Band.NONE)

    @property
    def open_by_band(self) -> Mapping[Band, int]:
        """Return how many findings no deviation covers, by band."""
        return {band: count - self.accepted_by_band[band] for band, count in self.findings_by_band.items()}

    @property
    def accepted(self) -> int:
        """Return how many findings a deviation covers."""
        return sum(self.accepted_by_band.values())


@dataclass(frozen=True, slots=True)
class EstateSummary:
    """Sums over the whole estate and its groups.

    ``groups`` maps ``site``, ``kind`` and ``feeds`` to their groups, worst score first.
    ``worst_cards`` are the worst cards in full, at most ``DETAILED_CARDS``: worst finding
    first, then lowest score, then card id. ``faults`` are those of records that could not be
    used, at most 1000; ``unusable`` counts those records, and folders without any, which
    ``empty_folders`` counts. ``held`` is the verdict.
    """

    whole: GroupSum
    groups: Mapping[str, tuple[GroupSum, ...]]
    worst_cards: tuple[CardAssessment, ...]
    faults: tuple[Fault, ...]
    unusable: int
    hold_at: Band
    shared: tuple[SharedSecret, ...] = ()
    """Secrets and keys that several cards share, worst first: findings on the estate."""
    deviations: "DeviationReview | None" = None
    """The deviations in force and what is wrong with them, findings too; None where none were given."""
    reach: "ReachSummary | None" = None
    """Who can switch outputs; None where no report shows it."""
    addresses: AddressClashes | None = None
    """Addresses and subnets that do not go together; None where nobody looked."""
    clocks: "tuple[SiteClocks, ...] | None" = None
    """The clocks of each site with several cards; None where nobody looked."""
    empty_folders: int = 0

    @property
    def worst(self) -> Band:
        """Return the band of the worst finding, on a card or on the estate."""
        return max([self.whole.worst, *self._on_estate])

    @property
    def open_worst(self) -> Band:
        """Return the band of the worst finding that no deviation covers."""
        return max([self.whole.open_worst, *self._on_estate])

    @property
    def _on_estate(self) -> list[Band]:
        found = self.deviations.findings if self.deviations else ()
        return [*(one.band for one in self.shared), *(one.band for one in found)]

    @property
    def held(self) -> bool:
        """Return whether a finding that no deviation covers is at or above the band to hold at."""
        return self.open_worst >= self.hold_at and self.open_worst is not Band.NONE


Counts: TypeAlias = tuple[int, int]
"""Cards, and passes on them."""


@dataclass(slots=True)
class _Departed:
    """On how many cards a rule has departures, and how many of its single results on these are what."""

    cards: int = 0
    passed: int = 0
    failed: int = 0
    unknown: int = 0
    cards_failing: int = 0

    def join(self, other: "_Departed") -> None:
        """Add the sums of another group."""
        self.cards += other.cards
        self.passed += other.passed
        self.failed += other.failed
        self.unknown += other.unknown
        self.cards_failing += other.cards_failing


@dataclass(slots=True)
class _Running:
    """Sums of one group while cards come in.

    ``plain`` counts results without departures, and ``batches`` those that come together, which
    all cards share, as they are: the sums by rule are worked out at the end. ``departed`` are those
    with departures, by rule id.
    """

    cards: int = 0
    points: float = 0.0
    maximum: float = 0.0
    decided: int = 0
    counted: int = 0
    cards_by_worst: Counter[Band] = field(default_factory=Counter)
    findings_by_band: Counter[Band] = field(default_factory=Counter)
    outcomes: Counter[Outcome] = field(default_factory=Counter)
    batches: Counter[Batch] = field(default_factory=Counter)
    plain: Counter[RuleResult] = field(default_factory=Counter)
    departed: defaultdict[str, _Departed] = field(default_factory=lambda: defaultdict(_Departed))
    accepted: Counter[Band] = field(default_factory=Counter)
    open_worst: Counter[Band] = field(default_factory=Counter)
    accepted_points: float = 0.0
    accepted_maximum: float = 0.0

    def add(self, assessment: CardAssessment) -> None:
        """Add one card."""
        self.cards += 1
        self.points += assessment.score.points
        self.maximum += assessment.score.maximum
        self.decided += assessment.coverage.decided
        self.counted += assessment.coverage.counted
        self.cards_by_worst[assessment.worst] += 1
        for finding in assessment.findings:
            self.findings_by_band[finding.band] += 1
        for outcome, count in assessment.outcomes.items():
            self.outcomes[outcome] += count
        self.batches.update(assessment.unusual.batches)
        for result in assessment.unusual.single.values():
            if result.departures:
                self._add_departed(result)
            else:
                self.plain[result] += 1
        if assessment.accepted_score is not None:
            self._add_accepted(assessment, assessment.accepted_score)

    def _add_accepted(self, assessment: CardAssessment, accepted: Score) -> None:
        """Add what deviations change: sums of differences, so that most cards cost nothing."""
        self.accepted_points += accepted.points - assessment.score.points
        self.accepted_maximum += accepted.maximum - assessment.score.maximum
        self.accepted.update([found.band for found in assessment.findings if found.deviation is not None])
        self.open_worst[assessment.open_worst] += 1
        self.open_worst[assessment.worst] -= 1

    def _add_departed(self, result: RuleResult) -> None:
        sums, departures = self.departed[result.rule.id], result.departures
        unknown = sum([departure.outcome is Outcome.UNKNOWN for departure in departures])
        sums.cards += 1
        sums.passed += result.passed
        sums.failed += len(departures) - unknown
        sums.unknown += unknown
        sums.cards_failing += unknown < len(departures)

    def join(self, other: "_Running") -> None:
        """Add the sums of another group."""
        self.cards += other.cards
        self.points += other.points
        self.maximum += other.maximum
        self.decided += other.decided
        self.counted += other.counted
        self.accepted_points += other.accepted_points
        self.accepted_maximum += other.accepted_maximum
        for name in _COUNTERS:
            getattr(self, name).update(getattr(other, name))
        for name, sums in other.departed.items():
            self.departed[name].join(sums)

    def passes_of(self, usual: RuleResult, plain: Mapping[str, Counts]) -> int:
        """Return how many results of a rule passed: as usual, plainly, or beside departures."""
        name = usual.rule.id
        cards, passed = plain.get(name, (0, 0))
        departed = self.departed[name]
        return (self.cards - cards - departed.cards) * usual.passed + passed + departed.passed

    def plain_counts(self) -> Mapping[str, Counts]:
        """Return by rule on how many cards its result was plain but not usual, and the passes there."""
        counts: dict[str, Counts] = {}
        inside = (
            (result, cards) for batch, cards in self.batches.items() for result in batch.results.values()
        )
        for result, cards in chain(self.plain.items(), inside):
            before = counts.get(result.rule.id, (0, 0))
            counts[result.rule.id] = (before[0] + cards, before[1] + cards * result.passed)
        return counts


_COUNTERS = (
    "cards_by_worst", "findings_by_band", "outcomes", "batches", "plain", "accepted", "open_worst",
)  # fmt: skip


class EstateSums:
    """Takes assessments one by one and gives the sums at the end."""

    def __init__(
        self, program: Program, hold_at: Band, *,
        detailed: int = DETAILED_CARDS, reach: "ReachSums | None" = None, clocks: "ClockSums | None" = None,
    ) -> None:  # fmt: skip
        """Start with no card; ``detailed`` cards are kept in full.

        ``reach`` takes the ways in to each card, which costs more than all the rest. Only where
        there is one do the detailed cards keep what they were judged by. ``clocks`` takes the clocks.
        """
        self._program = program
        self._reach = reach
        self._clocks = clocks
        self._hold_at = hold_at
        self._detailed = detailed
        self._runs: dict[tuple[str, str, str], _Running] = {}
        self._worst: list[tuple[tuple[int, float, tuple[int, ...]], int, CardAssessment]] = []
        self._faults: list[Fault] = []
        self._unusable = 0
        self._empty_folders = 0
        self._cards = 0

    def add(self, assessment: CardAssessment) -> None:
        """Add one card."""
        card = assessment.card
        key = (card.site, card.kind, card.feeds)
        run = self._runs.get(key)
        if run is None:
            run = self._runs[key] = _Running()
        run.add(assessment)
        if self._reach is not None:
            self._reach.add(assessment)
        if self._clocks is not None:
            self._clocks.add(assessment)
        self._cards += 1
        self._keep_if_among_the_worst(assessment)

    def add_unusable(self, faults: Iterable[Fault]) -> None:
        """Count one record that could not be used, or a folder without any, with its faults."""
        self._unusable += 1
        faults = list(faults)
        self._empty_folders += any(map(is_empty_folder, faults))
        room = _KEPT_FAULTS - len(self._faults)
        self._faults.extend(faults[:room])

    def summary(self, reuse: Reuse | None = None, acceptance: "Acceptance | None" = None) -> EstateSummary:
        """Return the sums over everything added so far, what the cards share, and how deviations stand."""
        shared = reuse.shared(self._program.tailoring.environments) if reuse else ()
        whole = _joined(self._runs.values())
        worst = tuple(assessment for _, _, assessment in sorted(self._worst, reverse=True))
        return EstateSummary(
            self._sum("", whole),
            self._grouped(),
            worst,
            tuple(self._faults),
            self._unusable,
            self._hold_at,
            shared,
            acceptance.review() if acceptance else None,
            self._reach.summary() if self._reach is not None else None,
            reuse.addresses.clashes() if reuse else None,
            self._clocks.summary() if self._clocks is not None else None,
            self._empty_folders,
        )

    def _grouped(self) -> Mapping[str, tuple[GroupSum, ...]]:
        groups = {}
        for position, grouping in enumerate(GROUPINGS):
            names = {key[position] for key in self._runs}
            sums = [self._sum(name, self._matching(position, name)) for name in names]
            groups[grouping] = tuple(sorted(sums, key=_lowest_score_first))
        return groups

    def _matching(self, position: int, name: str) -> _Running:
        return _joined(run for key, run in self._runs.items() if key[position] == name)

    def _keep_if_among_the_worst(self, assessment: CardAssessment) -> None:
        if len(self._worst) < self._detailed:
            heapq.heappush(self._worst, (_badness(assessment), self._cards, self._kept(assessment)))
        elif self._worst and assessment.worst.rank >= self._worst[0][0][0]:
            badness = _badness(assessment)
            if badness > self._worst[0][0]:
                heapq.heapreplace(self._worst, (badness, self._cards, self._kept(assessment)))

    def _kept(self, assessment: CardAssessment) -> CardAssessment:
        return assessment if self._reach else replace(assessment, basis=None)

    def _sum(self, name: str, run: _Running) -> GroupSum:
        percent = 100 * run.points / run.maximum if run.maximum else None
        return GroupSum(
            name,
            run.cards,
            Score(run.points, run.maximum, percent),
            Coverage(run.decided, run.counted).percent,
            {band: run.cards_by_worst[band] for band in Band},
            {band: run.findings_by_band[band] for band in Band},
            {outcome: run.outcomes[outcome] for outcome in Outcome},
            _rule_sums(self._program.usual, run),
            _accepted_score(run),
            {band: run.accepted[band] for band in Band},
            {band: run.cards_by_worst[band] + run.open_worst[band] for band in Band},
        )


_KEPT_FAULTS = 1000


def _accepted_score(run: _Running) -> Score:
    points, maximum = run.points + run.accepted_points, run.maximum + run.accepted_maximum
    return Score(points, maximum, 100 * points / maximum if maximum else None)


def _joined(runs: Iterable[_Running]) -> _Running:
    whole = _Running()
    for run in runs:
        whole.join(run)
    return whole


def _rule_sums(usual_results: Iterable[RuleResult], run: _Running) -> Mapping[str, RuleSum]:
    plain = run.plain_counts()
    sums = {}
    for usual in usual_results:
        name = usual.rule.id
        passed, departed = run.passes_of(usual, plain), run.departed[name]
        sums[name] = RuleSum(passed, departed.failed, departed.unknown, departed.cards_failing)
    return sums


def _badness(assessment: CardAssessment) -> tuple[int, float, tuple[int, ...]]:
    """Return what orders cards: greater is worse; ties by card id, earlier first."""
    percent = 100.0 if assessment.score.percent is None else assessment.score.percent
    reversed_id = tuple(-ord(letter) for letter in assessment.card.id)
    return assessment.worst.rank, -percent, reversed_id


def _lowest_score_first(group: GroupSum) -> tuple[float, str]:
    return (101.0 if group.score.percent is None else group.score.percent, group.name)
