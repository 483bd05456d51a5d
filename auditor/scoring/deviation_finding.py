"""What is wrong with a deviation: a finding on the estate, with its severity and the argument for it.

Says nothing of how it is found: that is a matter of all cards together.
"""

from collections.abc import Mapping
from typing import Final

from auditor.dataclass import dataclass
from auditor.scoring.band import Band, band_of
from auditor.scoring.ccss import Scored, base_score
from auditor.scoring.deviation import Deviation


@dataclass(frozen=True, slots=True)
class DeviationFault:
    """One kind of fault that a deviation can have: what is wrong, why it matters, how to mend it."""

    title: str
    because: str
    mend: str


_VECTOR: Final = "AV:L/AC:H/Au:S/C:N/I:P/A:N"
"""Our own reading: nothing is open yet; a defect that comes back would be let through unseen."""

DEVIATION_FAULTS: Final[Mapping[str, DeviationFault]] = {
    "deviation-expired": DeviationFault(
        "A deviation has expired",
        "What it covered is open again, as severe as the worst of it.",
        "Mend the findings, or have the deviation approved anew, with a new date.",
    ),
    "deviation-not-yet-approved": DeviationFault(
        "A deviation is dated to be approved later",
        "Until that day it covers nothing: what it is about is open.",
        "Correct the date, or wait for it.",
    ),
    "deviation-without-owner": DeviationFault(
        "A deviation has no owner",
        "Nobody answers for it, so it covers nothing: what it is about is open.",
        "Name the person who answers for the risk, or take the deviation out.",
    ),
    "deviation-too-long": DeviationFault(
        "A deviation lasts longer than the site allows",
        "Nobody would look at the risk again in time, so it covers nothing: what it is about is open.",
        "Let it end earlier and be approved anew then, or change deviation_days_maximum of the site.",
    ),
    "deviation-overlapping": DeviationFault(
        "Two deviations cover the same finding",
        "When one of them ends the other still covers, and nobody notices the end.",
        "Keep one of the two.",
    ),
    "deviation-unused": DeviationFault(
        "A deviation matches no finding",
        "What it accepted is mended; if it comes back, it is accepted again unseen.",
        "Take the deviation out.",
    ),
    "deviation-without-card": DeviationFault(
        "A deviation matches no card of this run",
        "A card that takes the name later would have its defect accepted unseen.",
        "Correct the pattern, or take the deviation out; audit the whole estate before you do.",
    ),
}


@dataclass(frozen=True, slots=True)
class DeviationFinding:
    """A fault of a deviation: a finding on the estate, that counts for the verdict.

    ``id`` is a key of ``DEVIATION_FAULTS``. ``severity`` is that of the worst finding that the
    deviation leaves open, or a low one where it leaves none open. ``beside`` is the deviation
    that covers the same, where two overlap. ``findings`` on ``cards`` are left open, or covered
    twice; ``example_card`` is the first of these cards, or empty.
    """

    id: str
    deviation: Deviation
    severity: Scored
    findings: int = 0
    cards: int = 0
    example_card: str = ""
    beside: Deviation | None = None

    @property
    def band(self) -> Band:
        """Return the word of the severity."""
        return band_of(self.severity.score)

    @property
    def what(self) -> DeviationFault:
        """Return what is wrong, in words."""
        return DEVIATION_FAULTS[self.id]


@dataclass(frozen=True, slots=True)
class DeviationUse:
    """A deviation in force and what it covers: findings, and the cards that they are on."""

    deviation: Deviation
    findings: int
    cards: int


@dataclass(frozen=True, slots=True)
class DeviationReview:
    """What a run says of its deviations: those in force in the order of the file, and what is wrong.

    ``findings`` stand worst first, then in the order of the file.
    """

    uses: tuple[DeviationUse, ...]
    findings: tuple[DeviationFinding, ...]

    @property
    def worst(self) -> Band:
        """Return the band of the worst finding, ``none`` without one."""
        return max((finding.band for finding in self.findings), default=Band.NONE)


def least_severity() -> Scored:
    """Return the severity of a deviation's fault that leaves nothing open."""
    return base_score(_VECTOR)
