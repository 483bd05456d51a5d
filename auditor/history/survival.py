"""How long findings live: the Kaplan-Meier estimate, which counts those still open for what they say.

To leave open findings out would make the mending look faster than it is; to count them as
mended today would be made up.

Source: E. L. Kaplan, P. Meier, Nonparametric Estimation from Incomplete Observations, Journal of
the American Statistical Association 53 (1958), 457-481 (from memory).
"""

from collections import Counter
from collections.abc import Iterable, Iterator
from typing import NamedTuple

from auditor.dataclass import dataclass

_HALF = 0.5


class Lifetime(NamedTuple):
    """Days that a finding was known to be open, and whether it was mended then or is open still."""

    days: float
    mended: bool


class Step(NamedTuple):
    """From so many days on, this share of findings is still open, 0 to 1."""

    days: float
    open_share: float


@dataclass(frozen=True, slots=True)
class Survival:
    """What some lifetimes say together.

    ``steps`` are in order of days, one for each day on which something was mended.
    ``median_days`` is the first day on which half of the findings, or fewer, are still open;
    None where it can't be told yet, because too few have been mended.
    """

    findings: int
    mended: int
    steps: tuple[Step, ...]

    @property
    def open(self) -> int:
        """Return how many were not mended as far as is known."""
        return self.findings - self.mended

    @property
    def median_days(self) -> float | None:
        """Return the median time to mend, in days."""
        return next((step.days for step in self.steps if step.open_share <= _HALF), None)


def survival_of(lifetimes: Iterable[Lifetime]) -> Survival:
    """Return the Kaplan-Meier estimate of some lifetimes.

    One that ends without being mended on a day was still open on that day.
    """
    ended, mended = Counter[float](), Counter[float]()
    for days, was_mended in lifetimes:
        ended[days] += 1
        mended[days] += was_mended
    return Survival(ended.total(), mended.total(), tuple(_steps(ended, mended)))


def _steps(ended: Counter[float], mended: Counter[float]) -> Iterator[Step]:
    at_risk, share = ended.total(), 1.0
    for days in sorted(ended):
        if mended[days]:
            share *= 1 - mended[days] / at_risk
            yield Step(days, share)
        at_risk -= ended[days]
