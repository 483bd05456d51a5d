"""The Kaplan-Meier estimate: worked by hand, and held against SciPy's."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import CensoredData, ecdf

from auditor.history.survival import Lifetime, survival_of


def lifetimes(text: str) -> list[Lifetime]:
    """Return lifetimes as they are written: ``6 6+`` is one mended on day 6, and one still open then."""
    return [Lifetime(float(each.rstrip("+")), mended=not each.endswith("+")) for each in text.split()]


def test_an_estimate_worked_by_hand() -> None:
    """Six findings: shares 5/6, then 5/6 of 3/4, then that of 1/2; open ones leave without a step."""
    found = survival_of(lifetimes("10 20+ 30 40+ 50 60+"))
    assert [step.days for step in found.steps] == [10, 30, 50]
    assert [step.open_share for step in found.steps] == pytest.approx([5 / 6, 5 / 8, 5 / 16])
    assert (found.findings, found.mended, found.open, found.median_days) == (6, 3, 3, 50)


def test_the_remission_times_of_a_published_trial() -> None:
    """21 patients on 6-MP: 0.857 after 6 weeks, 0.627 after 13, 0.448 after 23, where the median is.

    Source: E. J. Freireich and others, Blood 21 (1963), 699-716; the data as textbooks of
    survival analysis print them (from memory).
    """
    weeks = "6 6 6 6+ 7 9+ 10 10+ 11+ 13 16 17+ 19+ 20+ 22 23 25+ 32+ 32+ 34+ 35+"
    found = survival_of(lifetimes(weeks))
    share = {step.days: round(step.open_share, 3) for step in found.steps}
    assert share == {6: 0.857, 7: 0.807, 10: 0.753, 13: 0.690, 16: 0.627, 22: 0.538, 23: 0.448}
    assert (found.findings, found.mended, found.median_days) == (21, 9, 23)


@pytest.mark.parametrize(
    ("text", "median"),
    [("", None), ("5+ 6+", None), ("5", 5), ("1 9+ 9+ 9+", None), ("1 2", 1), ("1 2 3", 2), ("4 4+", 4)],
)
def test_a_median_is_told_only_where_half_were_mended(text: str, median: float | None) -> None:
    """Else more than half are still open, and no number of days would be true."""
    assert survival_of(lifetimes(text)).median_days == median


@given(st.lists(st.tuples(st.integers(0, 40), st.booleans()), min_size=1, max_size=40))
def test_the_estimate_is_that_of_scipy(pairs: list[tuple[int, bool]]) -> None:
    """For any mixture of mended and open, ties included. Source: scipy.stats.ecdf."""
    found = survival_of(Lifetime(days, mended) for days, mended in pairs)
    mended = [days for days, was in pairs if was]
    still_open = [days for days, was in pairs if not was]
    reference = ecdf(CensoredData(uncensored=mended, right=still_open)).sf
    expected = reference.evaluate([step.days for step in found.steps])
    assert [step.open_share for step in found.steps] == pytest.approx(list(expected), abs=1e-12)
    assert [step.days for step in found.steps] == sorted(set(mended))
