"""Facts on firmware and backups."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from packaging.version import Version

from auditor.facts import maintenance
from auditor.facts.fact import Context, Settings
from auditor.facts.maintenance import ReachedVersions, version_parts

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))
NUMBERS = st.lists(st.integers(0, 99), min_size=1, max_size=5)


def test_ages_are_counted_in_days() -> None:
    """Firmware, its last check and the backup each count from their own date."""
    record = {
        "card": {"firmware_date": "2026-06-02"},
        "maintenance": {
            "firmware": {"last_checked_on": "2026-10-01"},
            "backup": {"last_on": "2026-11-20"},
        },
    }
    assert maintenance.firmware_age_days(record, CONTEXT) == 176
    assert maintenance.firmware_checked_days_ago(record, CONTEXT) == 55
    assert maintenance.backup_age_days(record, CONTEXT) == 5


def test_absent_dates_leave_the_ages_unknown() -> None:
    """A record that says nothing of upkeep gives no age."""
    record: Settings = {"card": {}}
    assert maintenance.firmware_age_days(record, CONTEXT) is None
    assert maintenance.firmware_checked_days_ago(record, CONTEXT) is None
    assert maintenance.backup_age_days(record, CONTEXT) is None


@pytest.mark.parametrize(
    ("backup", "answer"),
    [
        ({}, None),
        ({"exists": True}, True),
        ({"exists": False}, False),
        ({"last_on": "2026-11-20"}, True),
        ({"exists": True, "last_on": "2026-11-20"}, True),
        ({"exists": False, "last_on": "2026-11-20"}, None),
    ],
)
def test_a_dated_backup_exists(backup: Settings, answer: bool | None) -> None:
    """A date proves a backup; a date of a backup that is said not to exist proves nothing."""
    assert maintenance.has_backup({"maintenance": {"backup": backup}}, CONTEXT) is answer


@pytest.mark.parametrize(
    ("text", "parts"),
    [
        ("3.4.2", (3, 4, 2)),
        ("v3.4.0", (3, 4)),
        ("03.10", (3, 10)),
        ("3.4-b2.9", (3, 4)),
        ("0.0", (0,)),
        ("gold", ()),
        ("", ()),
    ],
)
def test_versions_are_read_as_numbers(text: str, parts: tuple[int, ...]) -> None:
    """Numbers count, closing zeros, a leading v and a suffix don't."""
    assert version_parts(text) == parts


@given(NUMBERS, NUMBERS)
def test_versions_are_ordered_as_by_the_packaging_library(one: list[int], other: list[int]) -> None:
    """Order of release numbers agrees with the reference library for Python versions (PEP 440)."""
    running, wanted = (".".join(map(str, numbers)) for numbers in (one, other))
    assert (wanted in ReachedVersions([running])) is (Version(running) >= Version(wanted))


def test_a_version_without_a_number_is_reached_by_none() -> None:
    """Neither a word as minimum nor an unreadable running version passes."""
    assert "gold" not in ReachedVersions(["3.4.2"])
    assert maintenance.firmware_reaches({"card": {"firmware_version": "gold"}}, CONTEXT) is None
    assert maintenance.firmware_reaches({"card": {}}, CONTEXT) is None
    reached = maintenance.firmware_reaches({"card": {"firmware_version": "3.4"}}, CONTEXT)
    assert reached == ReachedVersions(["3.4"])
