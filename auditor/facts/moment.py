"""Text → moment in time, for facts that count days or seconds; holds no facts."""

from datetime import datetime


def moment_of(text: str | None) -> datetime | None:
    """Return the moment that a date-time of a record names; None where there is none to tell.

    A date that no calendar has (30 February, the year 0) tells nothing. Digits beyond the
    microsecond are cut off.

    Source: RFC 3339 section 5.6.
    """
    if text is None:
        return None
    try:
        return datetime.fromisoformat(text)
    except ValueError:
        return None
