"""Facts on the rules for logging in."""

from datetime import UTC, datetime

import pytest

from auditor.facts.access import guesses_per_day
from auditor.facts.fact import Context, Settings

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))


@pytest.mark.parametrize(
    ("lockout", "guesses"),
    [
        ({"attempts": 5, "duration_s": 900}, 480),
        ({"attempts": 5, "duration_s": 60}, 7200),
        ({"attempts": 3, "duration_s": 86_400}, 3),
        ({"attempts": 10, "duration_s": 0}, 10),
        ({"attempts": 5}, None),
        ({"duration_s": 900}, None),
        ({}, None),
    ],
)
def test_guesses_are_attempts_times_the_locks_of_a_day(lockout: Settings, guesses: float | None) -> None:
    """A day has 86 400 s: attempts divided by the lock's share of it; worked out by hand."""
    assert guesses_per_day({"access_policy": {"lockout": lockout}}, CONTEXT) == guesses


def test_a_record_without_access_policy_leaves_it_unknown() -> None:
    """No section, no answer."""
    assert guesses_per_day({}, CONTEXT) is None
