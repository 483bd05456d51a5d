"""Days of the calendar as records hold them (``2026-11-25``); holds no facts."""

from datetime import date
from functools import lru_cache

from auditor.facts.fact import Context


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
    day = _number_of(text)
    if day is None:
        return None
    days = context.as_of.toordinal() - day
    return None if days < -1 else max(days, 0)


@lru_cache(maxsize=4096)
def _number_of(text: str | None) -> int | None:
    """Return the number of a day; days in a row are numbered in a row."""
    day = day_of(text)
    return None if day is None else day.toordinal()
