"""Facts on the log: days worked by hand."""

from datetime import UTC, datetime
from statistics import NormalDist

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import gamma, poisson

from auditor.facts import log
from auditor.facts.fact import Context, Settings

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))


@pytest.mark.parametrize(
    ("capacity", "rate", "days"),
    [(435, 10, 43.5), (435, 14, 31.07), (435, 14.5, 30.0), (435, 5, 87.0)],
)
def test_days_are_capacity_over_rate(capacity: int, rate: float, days: float) -> None:
    """The four rows of the retention table in the project's fact sheet, section 11 (computed there)."""
    found = log.log_days({"log": {"capacity_events": capacity, "events_per_day": rate}}, CONTEXT)
    assert found == pytest.approx(days, abs=0.005)


def test_a_card_without_events_keeps_them_for_a_century_at_most() -> None:
    """No division by zero, and no infinite number in a report."""
    for rate in (0, 1e-300, 0.001):
        assert (
            log.log_days({"log": {"capacity_events": 435, "events_per_day": rate}}, CONTEXT)
            == log.LONGEST_DAYS
        )


def test_a_card_without_room_keeps_nothing() -> None:
    """Known whatever the rate is, even unknown or none."""
    assert log.log_days({"log": {"capacity_events": 0}}, CONTEXT) == 0.0
    assert log.log_days({"log": {"capacity_events": 0, "events_per_day": 0}}, CONTEXT) == 0.0


def test_half_of_the_sum_tells_nothing() -> None:
    """Capacity and rate are both needed."""
    assert log.log_days({"log": {"capacity_events": 435}}, CONTEXT) is None
    assert log.log_days({"log": {"events_per_day": 5}}, CONTEXT) is None
    assert log.log_days({}, CONTEXT) is None


@given(st.integers(0, 2**63), st.floats(0, allow_infinity=False))
def test_days_are_always_a_number_within_bounds(capacity: int, rate: float) -> None:
    """Whatever a record holds, the days lie between none and a century."""
    days = log.log_days({"log": {"capacity_events": capacity, "events_per_day": rate}}, CONTEXT)
    assert isinstance(days, float)
    assert 0 <= days <= log.LONGEST_DAYS


# The retention table in the project's fact sheet, section 11 (computed there).
@pytest.mark.parametrize(
    ("capacity", "rate", "days", "full", "lost"),
    [
        (435, 10, 30, 1.65e-13, 1.13e-13),
        (435, 14, 30, 0.23836, 0.22368),
        (435, 14.5, 30, 0.50638, 0.48725),
        (435, 5, 90, 0.76640, 0.75154),
    ],
)
def test_chances_of_the_retention_table(
    capacity: int, rate: float, days: int, full: float, lost: float
) -> None:
    """P(X >= C), and P(X > C), which is the same for one entry more."""
    assert log.chance_of_loss(capacity, rate * days) == pytest.approx(full, rel=4e-3)
    assert log.chance_of_loss(capacity + 1, rate * days) == pytest.approx(lost, rel=4e-3)


@given(st.integers(1, 20_000), st.floats(0.01, 3))
def test_chances_agree_with_a_library(capacity: int, share: float) -> None:
    """The survival function of scipy, wherever the mean lies."""
    expected = capacity * share
    assert log.chance_of_loss(capacity, expected) == pytest.approx(
        poisson.sf(capacity - 1, expected), rel=1e-7, abs=1e-290
    )


@given(st.integers(1_000_001, 10**12), st.floats(-6, 6))
def test_chances_of_huge_logs_agree_with_a_library_in_four_places(capacity: int, deviations: float) -> None:
    """The approximation, within six standard deviations of an even chance."""
    expected = capacity + deviations * capacity**0.5
    found = log.chance_of_loss(capacity, expected)
    assert found == pytest.approx(gamma.cdf(expected, capacity), abs=1e-4)


def test_chances_have_ends() -> None:
    """No room is lost at once; no events lose nothing; numbers too large for a product are no fault."""
    assert log.chance_of_loss(0, 0.0) == 1.0
    assert log.chance_of_loss(5, 0.0) == 0.0
    assert log.chance_of_loss(5, 1e308 * 10) == 1.0
    assert log.chance_of_loss(5, 1e308) == 1.0


@pytest.mark.parametrize(
    ("section", "chance", "lost"),
    [
        ({"capacity_events": 435, "events_per_day": 5}, 0.76640, 3.0),
        ({"capacity_events": 435, "events_per_day": 1}, 0.0, 0.0),
        ({"capacity_events": 90, "events_per_day": 10}, 1.0, 81.0),
        ({"capacity_events": 0}, 1.0, 90.0),
        ({"capacity_events": 435}, None, None),
        ({"events_per_day": 5}, None, None),
    ],
)
def test_what_is_lost_between_two_sweeps(section: Settings, chance: float | None, lost: float | None) -> None:
    """The last row of the same table; days by hand: 90 less capacity by rate, and never fewer than none."""
    record = {"log": section}
    found, days = log.chance_of_wrap(record, 90), log.days_lost(record, 90)
    assert found == (None if chance is None else pytest.approx(chance, abs=1e-5))
    assert days == (None if lost is None else pytest.approx(lost))


# The list below the same table.
@pytest.mark.parametrize(("rate", "days"), [(5, 77), (10, 38), (14, 27), (40, 9)])
def test_safe_days_of_the_retention_table(rate: float, days: int) -> None:
    """The longest whole days with a chance of at most 1 %."""
    record = {"log": {"capacity_events": 435, "events_per_day": rate}}
    assert log.log_safe_days(record, CONTEXT) == days


@given(st.integers(1, 5000), st.floats(0.001, 2000))
def test_safe_days_are_the_last_with_an_accepted_chance(capacity: int, rate: float) -> None:
    """By the library: that day is accepted and the next is not, up to a century."""
    days = log.log_safe_days({"log": {"capacity_events": capacity, "events_per_day": rate}}, CONTEXT)
    assert isinstance(days, int)
    assert poisson.sf(capacity - 1, rate * days) <= log.ACCEPTED_CHANCE * (1 + 1e-9)
    assert days == log.LONGEST_DAYS or poisson.sf(capacity - 1, rate * (days + 1)) > log.ACCEPTED_CHANCE * (
        1 - 1e-9
    )


@pytest.mark.parametrize(
    ("section", "days"),
    [
        ({"capacity_events": 0}, 0),
        ({"capacity_events": 9}, None),
        ({"events_per_day": 9}, None),
        ({"capacity_events": 9, "events_per_day": 0}, 36500),
        ({"capacity_events": 10**18, "events_per_day": 1e-300}, 36500),
        ({"capacity_events": 1, "events_per_day": 1e308}, 0),
        ({"capacity_events": 10**18, "events_per_day": 1e308}, 0),
    ],
)
def test_safe_days_have_ends(section: dict[str, float], days: int | None) -> None:
    """No room, no events, too little known, and numbers out of all proportion."""
    assert log.log_safe_days({"log": section}, CONTEXT) == days


@pytest.mark.parametrize("capacity", [1, 2, 3, 5, 8, 20, 435, 10_000, 10**6])
def test_the_approximation_is_as_close_as_the_search_takes_it_to_be(capacity: int) -> None:
    """Against the quantile of scipy's gamma distribution, in events."""
    close = gamma.ppf(log.ACCEPTED_CHANCE, capacity)
    assert abs(log._accepted_events(capacity) - close) < log._ROUGH_ERROR  # noqa: SLF001 - its own bound


def test_the_quantile_is_that_of_the_normal_distribution() -> None:
    """The constant that spares the import is what ``statistics`` works out for the accepted chance."""
    assert NormalDist().inv_cdf(log.ACCEPTED_CHANCE) == log._QUANTILE  # noqa: SLF001 - a constant
