"""Deviations at work on an audit: marks what they cover, card by card, and what is wrong with them.

Keeps a few counts a deviation and nothing of a card, so memory does not grow with the estate. A
card without a finding that a deviation is about goes through as it came.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from typing import TypeVar

from auditor.dataclass import dataclass, field, replace
from auditor.errors import RecordError
from auditor.scoring.assessment import CardAssessment, Finding, Missing, weight_of
from auditor.scoring.deviation import Defect, Deviation, DeviationSet, can_be_accepted
from auditor.scoring.deviation_finding import (
    DeviationFinding,
    DeviationReview,
    DeviationUse,
    least_severity,
)
from auditor.scoring.xccdf import Score

Item = TypeVar("Item", bound=CardAssessment | RecordError)


@dataclass(slots=True)
class _Met:
    """Findings met so far, the cards that they are on, and the worst of them."""

    findings: int = 0
    cards: int = 0
    example_card: str = ""
    worst: Finding | None = None

    def add(self, card_id: str, findings: Sequence[Finding]) -> None:
        """Take the findings of one card; worst first."""
        if not findings:
            return
        self.findings += len(findings)
        self.cards += 1
        self.example_card = self.example_card or card_id
        if self.worst is None or findings[0].severity.score > self.worst.severity.score:
            self.worst = findings[0]


@dataclass(slots=True)
class _Tally:
    """What one deviation met so far.

    ``met_card`` is true once one of its cards was audited, ``met_result`` once a result there
    was not a pass, be it a finding or not.
    """

    deviation: Deviation
    defects: tuple[Defect, ...]
    met_card: bool = False
    met_result: bool = False
    met: _Met = field(default_factory=_Met)


class Acceptance:
    """Takes assessments one by one, marks what deviations cover, and reviews these at the end."""

    def __init__(self, deviations: DeviationSet, as_of: datetime, *, whole_estate: bool = True) -> None:
        """Start with no card, on the day of ``as_of`` in UTC.

        ``whole_estate`` is false where a run leaves cards out, so that a deviation without a
        card says nothing.
        """
        day = as_of.astimezone(UTC).date()
        self._whole_estate = whole_estate
        self._tallies = [_Tally(each, each.defects(day)) for each in deviations.deviations]
        self._overlaps: dict[tuple[int, int], _Met] = {}

    def watch(self, assessments: Iterable[Item]) -> Iterator[Item | CardAssessment]:
        """Pass assessments on, marked; errors go through untouched."""
        for item in assessments:
            yield self.mark(item) if isinstance(item, CardAssessment) else item

    def mark(self, assessment: CardAssessment) -> CardAssessment:
        """Return a card with what is accepted marked, and its score with that set aside."""
        card_id = assessment.card.id
        covering: dict[int, list[int]] = {}
        for number, tally in enumerate(self._tallies):
            if tally.deviation.is_about_card(card_id):
                places = _meet(tally, assessment)
                if not tally.defects:
                    for place in places:
                        covering.setdefault(place, []).append(number)
        self._note_overlaps(card_id, assessment.findings, covering)
        accepted = {place: self._tallies[numbers[0]].deviation for place, numbers in covering.items()}
        return accept(assessment, accepted) if accepted else assessment

    def _note_overlaps(
        self, card_id: str, findings: Sequence[Finding], covering: Mapping[int, Sequence[int]]
    ) -> None:
        twice: dict[tuple[int, int], list[Finding]] = {}
        for place, numbers in covering.items():
            for later in numbers[1:]:
                twice.setdefault((numbers[0], later), []).append(findings[place])
        for pair, covered in twice.items():
            self._overlaps.setdefault(pair, _Met()).add(card_id, covered)

    def review(self) -> DeviationReview:
        """Return what is to be said of the deviations, over every card so far."""
        uses = (_use(tally) for tally in self._tallies if tally.met.findings and not tally.defects)
        found = [*self._faulty(), *self._overlapping(), *self._idle()]
        places = {id(tally.deviation): number for number, tally in enumerate(self._tallies)}
        found.sort(key=lambda each: (-each.severity.score, places[id(each.deviation)], each.id))
        return DeviationReview(tuple(uses), tuple(found))

    def _faulty(self) -> Iterator[DeviationFinding]:
        for tally in self._tallies:
            for defect in tally.defects:
                yield _finding(f"deviation-{defect.value}", tally.deviation, tally.met)

    def _overlapping(self) -> Iterator[DeviationFinding]:
        for (first, later), met in self._overlaps.items():
            earlier, deviation = self._tallies[first].deviation, self._tallies[later].deviation
            found = _finding("deviation-overlapping", deviation, met)
            yield replace(found, severity=least_severity(), beside=earlier)

    def _idle(self) -> Iterator[DeviationFinding]:
        for tally in self._tallies:
            if tally.met_card and not tally.met_result:
                yield _finding("deviation-unused", tally.deviation, tally.met)
            elif not tally.met_card and self._whole_estate:
                yield _finding("deviation-without-card", tally.deviation, tally.met)


def _meet(tally: _Tally, assessment: CardAssessment) -> list[int]:
    """Note what a deviation meets on one of its cards; return the places of the findings there."""
    deviation, findings = tally.deviation, assessment.findings
    places = [
        place
        for place, finding in enumerate(findings)
        if _is_about(deviation, finding) and can_be_accepted(finding.outcome)
    ]
    tally.met_card = True
    tally.met_result |= bool(places) or any(_is_about(deviation, missing) for missing in assessment.missing)
    tally.met.add(assessment.card.id, [findings[place] for place in places])
    return places


def _is_about(deviation: Deviation, found: Finding | Missing) -> bool:
    return deviation.is_about(found.rule.id, found.pointer, found.label)


def _use(tally: _Tally) -> DeviationUse:
    return DeviationUse(tally.deviation, tally.met.findings, tally.met.cards)


def _finding(name: str, deviation: Deviation, met: _Met) -> DeviationFinding:
    severity = met.worst.severity if met.worst is not None else least_severity()
    return DeviationFinding(name, deviation, severity, met.findings, met.cards, met.example_card)


def accept(assessment: CardAssessment, covered: Mapping[int, Deviation]) -> CardAssessment:
    """Return a card with findings marked as accepted, by their place among its findings.

    The score stays; ``accepted_score`` is the one with the accepted results set aside, as if
    their rules were not selected there. It is never below the score.
    """
    findings = tuple(
        replace(finding, deviation=covered.get(place)) for place, finding in enumerate(assessment.findings)
    )
    return replace(assessment, findings=findings, accepted_score=_score_without(assessment, covered))


def _score_without(assessment: CardAssessment, covered: Mapping[int, Deviation]) -> Score:
    aside: dict[str, int] = {}
    for place in covered:
        name = assessment.findings[place].rule.id
        aside[name] = aside.get(name, 0) + 1
    points, maximum = _tenths(assessment.score.points), _tenths(assessment.score.maximum)
    for result in assessment.unusual.values():
        if number := aside.get(result.rule.id, 0):
            weight, counted = _tenths(weight_of(result.rule)), result.counted - number
            points += weight * ((result.passed / counted if counted else 0) - result.passed / result.counted)
            maximum -= weight * (not counted)
    percent = 100 * points / maximum if maximum else None
    return Score(points / 10, maximum / 10, percent)


def _tenths(points: float) -> float:
    """Return points in tenths: whole numbers but for shares of members, so sums stay exact."""
    tenths = points * 10
    return round(tenths) if abs(tenths - round(tenths)) < _NOISE else tenths


_NOISE = 1e-6
