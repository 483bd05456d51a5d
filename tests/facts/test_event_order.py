"""Order of events on two cards: told only where both clocks are good enough for it."""

from datetime import UTC, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.event_order import apart_to_order_s

MAINS_LOST = datetime(2026, 11, 20, 3, 14, 15, tzinfo=UTC)


@pytest.mark.parametrize(
    ("one", "other", "apart"),
    [(1.296, 1.296, 2.592), (51.84, 1.296, 53.136), (0.0, 0.0, 0.0), (None, 0.0, None), (0.0, None, None)],
)
def test_both_uncertainties_count_and_an_unknown_one_tells_nothing(
    one: float | None, other: float | None, apart: float | None
) -> None:
    """By hand, with drifts of the fact sheet, section 12: 15 ppm in a day, 20 ppm in 30 days."""
    assert apart_to_order_s(one, other) == pytest.approx(apart)


SECONDS = st.floats(0, 100)


@given(SECONDS, SECONDS, st.floats(-1, 1), st.floats(-1, 1), st.floats(-300, 300))
def test_times_further_apart_than_that_are_in_their_true_order(
    one: float, other: float, error: float, other_error: float, apart: float
) -> None:
    """Whatever each clock is off within its uncertainty, the order that its times show is the true one."""
    shown = MAINS_LOST + timedelta(seconds=one * error)
    shown_other = MAINS_LOST + timedelta(seconds=apart + other * other_error)
    difference = (shown_other - shown).total_seconds()
    needed = apart_to_order_s(one, other)
    assert needed is not None
    if abs(difference) > needed + 1e-5:
        assert (difference > 0) == (apart > 0)
