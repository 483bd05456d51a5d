"""Facts on the capture: its age."""

from datetime import UTC, datetime, timedelta, timezone

import pytest

from auditor.facts import capture
from auditor.facts.fact import Context

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))


@pytest.mark.parametrize(
    ("taken", "days"),
    [
        ("2026-11-25T12:00:00Z", 0),
        ("2026-11-24T12:00:01Z", 0),
        ("2026-08-27T14:00:00+02:00", 90),
        ("2026-11-25T12:00:01Z", -1),
        ("2026-13-01T00:00:00Z", None),
    ],
)
def test_age_is_counted_in_whole_days(taken: str, days: int | None) -> None:
    """Rounded down, so a capture ahead of the audit is below 0; a wrong date tells nothing."""
    assert capture.capture_age_days({"capture": {"taken_at": taken}}, CONTEXT) == days


@pytest.mark.parametrize(
    ("taken", "days"),
    [
        ("2026-11-20T12:00:00Z", 0),
        ("2026-11-25T12:00:00Z", 0),
        ("2026-11-25T12:00:01Z", 1),
        ("2026-11-26T12:00:00Z", 1),
        ("2026-11-26T12:00:01Z", 2),
        ("2026-13-01T00:00:00Z", None),
    ],
)
def test_the_lead_of_a_capture_is_rounded_up(taken: str, days: int | None) -> None:
    """A second ahead of the audit is a day begun; a capture before it has no lead."""
    assert capture.capture_lead_days({"capture": {"taken_at": taken}}, CONTEXT) == days


def test_age_does_not_depend_on_the_zone_of_the_audit() -> None:
    """The same moment, said in another zone, gives the same age."""
    east = Context(CONTEXT.as_of.astimezone(timezone(timedelta(hours=9))))
    record = {"capture": {"taken_at": "2026-11-20T23:00:00Z"}}
    assert capture.capture_age_days(record, east) == capture.capture_age_days(record, CONTEXT) == 4


def test_a_capture_without_a_date_has_no_known_age() -> None:
    """Absent is unknown."""
    assert capture.capture_age_days({}, CONTEXT) is None
