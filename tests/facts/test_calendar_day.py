"""Days of the calendar and their distance from the audit."""

from datetime import UTC, date, datetime

import pytest

from auditor.facts.calendar_day import day_of, days_since
from auditor.facts.fact import Context

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))


def test_a_day_that_no_calendar_has_is_unknown() -> None:
    """30 February passes the pattern of a date, and still names no day."""
    assert day_of("2026-02-30") is None
    assert day_of(None) is None
    assert day_of("2024-02-29") == date(2024, 2, 29)


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("2026-11-25", 0),
        ("2026-11-24", 1),
        ("2025-11-25", 365),
        ("2024-11-25", 730),
        ("2026-11-26", 0),
        ("2026-11-27", None),
        ("2026-02-30", None),
        (None, None),
    ],
)
def test_days_are_counted_back_from_the_audit(text: str | None, days: int | None) -> None:
    """Today is 0; tomorrow is today somewhere else; a later day proves nothing."""
    assert days_since(text, CONTEXT) == days
