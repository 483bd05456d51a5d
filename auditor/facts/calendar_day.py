"""Days of the calendar as records hold them (``2026-11-25``); holds no facts."""

from datetime import date, timedelta
from functools import lru_cache

from auditor.facts.fact import Context

_A_DAY = timedelta(days=1)


@lru_cache(maxsize=4096)
def day_of(text: str | None) -> date | None:
    """Return the day, or None where there is none or the calendar has no such day."""
    if text is None:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None


def days_since(text: str | None, context: Context) -> int | None:
    """Return the days from that day to the audit; None for a day that is yet to come.

    One day ahead is today somewhere else, and counts as 0 days. Anything later is a wrong
    entry, which proves nothing.
    """
    day = day_of(text)
    today = context.as_of.date()
    if day is None or day > today + _A_DAY:
        return None
    return max((today - day).days, 0)
