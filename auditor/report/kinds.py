"""Kinds of findings over an estate: the same rule at the same severity, counted for all cards."""

from collections import Counter
from dataclasses import dataclass
from decimal import Decimal
from typing import TypeAlias

from auditor.scoring.assessment import CardAssessment, Finding

_Key: TypeAlias = tuple[str, Decimal]


@dataclass(frozen=True, slots=True)
class FindingKind:
    """Findings of one rule at one severity, over all cards.

    ``example`` is the first of them, on the card ``example_card``.
    """

    findings: int
    cards: int
    example_card: str
    example: Finding


class FindingKinds:
    """Counts findings by kind as the cards come; what it keeps does not grow with the cards."""

    def __init__(self) -> None:
        """Start with no finding."""
        self._findings: Counter[_Key] = Counter()
        self._cards: Counter[_Key] = Counter()
        self._examples: dict[_Key, tuple[str, Finding]] = {}

    def add(self, assessment: CardAssessment) -> None:
        """Take the findings of one card."""
        here = {
            (finding.rule.id, finding.severity.score): finding for finding in reversed(assessment.findings)
        }
        self._findings.update((finding.rule.id, finding.severity.score) for finding in assessment.findings)
        self._cards.update(here.keys())
        for key, finding in here.items():
            if key not in self._examples:
                self._examples[key] = (assessment.card.id, finding)

    @property
    def worst_first(self) -> tuple[FindingKind, ...]:
        """Return the kinds: worst first, then those on most cards, then by rule."""
        kinds = [
            FindingKind(self._findings[key], self._cards[key], *example)
            for key, example in self._examples.items()
        ]
        return tuple(sorted(kinds, key=_worst_first))


def _worst_first(kind: FindingKind) -> tuple[Decimal, int, str]:
    return (-kind.example.severity.score, -kind.cards, kind.example.rule.id)
