"""Order of events on two cards: told only where both clocks are good enough for it."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.event_order import Order, order_of_events

MAINS_LOST = datetime(2026, 11, 20, 3, 14, 15, tzinfo=UTC)


@pytest.mark.parametrize(
    ("seconds", "one", "other", "order"),
    [
        (10, 1.296, 1.296, Order.BEFORE),
        (-10, 1.296, 1.296, Order.AFTER),
        (2, 1.296, 1.296, Order.OPEN),
        (60, 51.84, 51.84, Order.OPEN),
        (60, 51.84, 1.296, Order.BEFORE),
        (0, 0, 0, Order.OPEN),
        (1, 0.5, 0.5, Order.OPEN),
        (10, None, 0, Order.OPEN),
        (10, 0, None, Order.OPEN),
    ],
)
def test_events_are_ordered_where_they_are_further_apart_than_both_clocks_may_be_off(
    seconds: float, one: float | None, other: float | None, order: Order
) -> None:
    """By hand, with drifts of the fact sheet, section 12: 15 ppm in a day, 20 ppm in 30 days."""
    later = MAINS_LOST + timedelta(seconds=seconds)
    assert order_of_events(MAINS_LOST, later, uncertainty_s=one, other_uncertainty_s=other) is order


def test_offsets_from_utc_change_nothing() -> None:
    """An hour of another zone is the same hour."""
    later = datetime.fromisoformat("2026-11-20T04:14:45+01:00")
    assert order_of_events(MAINS_LOST, later, uncertainty_s=1, other_uncertainty_s=1) is Order.BEFORE


SECONDS = st.floats(0, 100)


@given(SECONDS, SECONDS, st.floats(-1, 1), st.floats(-1, 1), SECONDS)
def test_a_told_order_is_the_true_one(
    one: float, other: float, error: float, other_error: float, apart: float
) -> None:
    """Whatever each clock is off within its uncertainty, no wrong order is ever told."""
    shown = MAINS_LOST + timedelta(seconds=one * error)
    shown_other = MAINS_LOST + timedelta(seconds=apart + other * other_error)
    uncertainty = {"uncertainty_s": one + 1e-6, "other_uncertainty_s": other + 1e-6}
    assert order_of_events(shown, shown_other, **uncertainty) is not Order.AFTER
    assert order_of_events(shown_other, shown, **uncertainty) is not Order.BEFORE
