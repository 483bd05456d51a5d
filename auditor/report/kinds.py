"""Kinds of findings over an estate: the same rule at the same severity, counted once for all cards."""

from dataclasses import dataclass, replace
from decimal import Decimal

from auditor.scoring.assessment import CardAssessment, Finding


@dataclass(frozen=True, slots=True)
class FindingKind:
    """Findings of one rule at one severity, over all cards.

    ``example`` is the first of them, on the card ``example_card``; its severity is that of all.
    """

    findings: int
    cards: int
    example_card: str
    example: Finding


class FindingKinds:
    """Counts findings by kind as the cards come; what it keeps does not grow with the cards."""

    def __init__(self) -> None:
        """Start with no finding."""
        self._kinds: dict[tuple[str, Decimal], FindingKind] = {}

    def add(self, assessment: CardAssessment) -> None:
        """Take the findings of one card."""
        here: dict[tuple[str, Decimal], list[Finding]] = {}
        for finding in assessment.findings:
            here.setdefault((finding.rule.id, finding.severity.score), []).append(finding)
        for key, findings in here.items():
            held = self._kinds.get(key) or FindingKind(0, 0, assessment.card.id, findings[0])
            self._kinds[key] = replace(held, findings=held.findings + len(findings), cards=held.cards + 1)

    @property
    def worst_first(self) -> tuple[FindingKind, ...]:
        """Return the kinds: worst first, then those on most cards, then by rule."""
        return tuple(sorted(self._kinds.values(), key=_worst_first))


def _worst_first(kind: FindingKind) -> tuple[Decimal, int, str]:
    return (-kind.example.severity.score, -kind.cards, kind.example.rule.id)
