"""Facts on the log: days worked by hand."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import log
from auditor.facts.fact import Context

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
