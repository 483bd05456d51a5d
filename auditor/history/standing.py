"""Sums over cards that come, change and go: whole numbers only, so taking away undoes adding."""

from collections import Counter
from collections.abc import Iterable, Mapping

from auditor.dataclass import dataclass, field
from auditor.history.card_result import CardResult
from auditor.scoring.band import Band

_PARTS = 10**6
"""Points are kept to six decimals, and summed in millionths."""


@dataclass(frozen=True, slots=True)
class Standing:
    """How an estate, or a group of it, stands after a sweep.

    ``percent`` is the pooled flat score, ``coverage_percent`` the share of decided results; both
    0 to 100, None where nothing applies. ``findings`` counts findings by band, ``accepted``
    those of them that a deviation covers.
    """

    cards: int
    percent: float | None
    coverage_percent: float | None
    worst: Band
    findings: Mapping[Band, int]
    accepted: int


@dataclass(slots=True)
class RunningSums:
    """Sums of a group while its cards come, change and go."""

    cards: int = 0
    points: int = 0
    maximum: int = 0
    decided: int = 0
    counted: int = 0
    accepted: int = 0
    findings: Counter[Band] = field(default_factory=Counter)

    def add(self, result: CardResult, sign: int = 1) -> None:
        """Add a card, or take it away again with the sign -1."""
        self.cards += sign
        self.points += sign * round(result.points * _PARTS)
        self.maximum += sign * round(result.maximum * _PARTS)
        self.decided += sign * result.decided
        self.counted += sign * result.counted
        for finding in result.findings:
            self.findings[finding.band] += sign
            self.accepted += sign * finding.accepted


def standing_of(sums: Iterable[RunningSums]) -> Standing:
    """Return how some groups stand together."""
    whole = RunningSums()
    for each in sums:
        whole.cards += each.cards
        whole.points += each.points
        whole.maximum += each.maximum
        whole.decided += each.decided
        whole.counted += each.counted
        whole.accepted += each.accepted
        whole.findings.update(each.findings)
    return Standing(
        whole.cards,
        100 * whole.points / whole.maximum if whole.maximum else None,
        100 * whole.decided / whole.counted if whole.counted else None,
        max((band for band, count in whole.findings.items() if count), default=Band.NONE),
        {band: whole.findings[band] for band in Band},
        whole.accepted,
    )


def percent_of(result: CardResult) -> float | None:
    """Return the score of one card, 0 to 100; None where nothing applies."""
    return 100 * result.points / result.maximum if result.maximum else None


def coverage_of(result: CardResult) -> float | None:
    """Return the coverage of one card, 0 to 100; None where nothing applies."""
    return 100 * result.decided / result.counted if result.counted else None
