"""Kinds of findings over an estate: the same rule at the same severity, counted for all cards."""

from collections import Counter
from decimal import Decimal
from typing import TypeAlias

from auditor.dataclass import dataclass
from auditor.report.figures import is_unknown
from auditor.scoring.assessment import CardAssessment, Finding

_Key: TypeAlias = tuple[str, Decimal, bool]
"""Rule, severity, and whether it is not known: that asks for other work than a fail."""


@dataclass(frozen=True, slots=True)
class FindingKind:
    """Findings of one rule at one severity, over all cards, the unknown ones apart.

    ``example`` is the first of them, on the card ``example_card``. ``accepted`` of the findings
    are under a deviation.
    """

    findings: int
    cards: int
    example_card: str
    example: Finding
    accepted: int = 0


class FindingKinds:
    """Counts findings by kind as the cards come; what it keeps does not grow with the cards."""

    def __init__(self) -> None:
        """Start with no finding."""
        self._findings: Counter[_Key] = Counter()
        self._cards: Counter[_Key] = Counter()
        self._accepted: Counter[_Key] = Counter()
        self._examples: dict[_Key, tuple[str, Finding]] = {}

    def add(self, assessment: CardAssessment) -> None:
        """Take the findings of one card."""
        here = {_key(finding): finding for finding in reversed(assessment.findings)}
        self._findings.update(map(_key, assessment.findings))
        self._cards.update(here.keys())
        if assessment.accepted_score is not None:
            covered = (finding for finding in assessment.findings if finding.deviation is not None)
            self._accepted.update(map(_key, covered))
        for key, finding in here.items():
            if key not in self._examples:
                self._examples[key] = (assessment.card.id, finding)

    @property
    def worst_first(self) -> tuple[FindingKind, ...]:
        """Return the kinds: worst first, then those on most cards, then by rule."""
        kinds = [
            FindingKind(self._findings[key], self._cards[key], *example, self._accepted[key])
            for key, example in self._examples.items()
        ]
        return tuple(sorted(kinds, key=_worst_first))


def _key(finding: Finding) -> _Key:
    return finding.rule.id, finding.severity.score, is_unknown(finding)


def _worst_first(kind: FindingKind) -> tuple[Decimal, int, str, bool]:
    finding = kind.example
    return (-finding.severity.score, -kind.cards, finding.rule.id, is_unknown(finding))
