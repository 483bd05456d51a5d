"""The bands of severity: words for scores, in their order."""

from decimal import Decimal
from enum import StrEnum
from functools import cache


class Band(StrEnum):
    """Band of a severity. Bands compare by severity, not by spelling; words compare as bands.

    Source: CVSS v3.1 specification, section 5, qualitative severity rating scale (CCSS has none).
    """

    NONE = "none"
    LOW = "low"
    MEDIUM = "medium"
    HIGH = "high"
    CRITICAL = "critical"

    @property
    def rank(self) -> int:
        """Return the place of the band: 0 for none, to 4 for critical."""
        return _RANKS[self]

    def __lt__(self, other: str) -> bool:
        """Say whether this band is less severe."""
        return self.rank < Band(other).rank

    def __le__(self, other: str) -> bool:
        """Say whether this band is less severe, or the same."""
        return self.rank <= Band(other).rank

    def __gt__(self, other: str) -> bool:
        """Say whether this band is more severe."""
        return self.rank > Band(other).rank

    def __ge__(self, other: str) -> bool:
        """Say whether this band is more severe, or the same."""
        return self.rank >= Band(other).rank


# Lower ends: CVSS v3.1 section 5 (0.0; 0.1-3.9; 4.0-6.9; 7.0-8.9; 9.0-10.0).
_LOWEST = {
    Band.NONE: Decimal("0.0"),
    Band.LOW: Decimal("0.1"),
    Band.MEDIUM: Decimal("4.0"),
    Band.HIGH: Decimal("7.0"),
    Band.CRITICAL: Decimal("9.0"),
}
_RANKS = {band: rank for rank, band in enumerate(Band)}
_HIGHEST_FIRST = tuple(reversed(_LOWEST.items()))
_TOP = Decimal("10.0")


@cache
def band_of(score: Decimal) -> Band:
    """Return the band of a score, 0.0 to 10.0 with one decimal.

    Raises:
        ValueError: if the score is below 0.0 or above 10.0.

    Source: CVSS v3.1 specification, section 5.
    """
    if not 0 <= score <= _TOP:
        raise ValueError(f"a severity is 0.0 to 10.0, not {score}")
    return next(band for band, lowest in _HIGHEST_FIRST if score >= lowest)
