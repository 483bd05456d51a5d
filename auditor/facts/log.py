"""Facts on the event log: how far back it reaches."""

from auditor.facts.fact import Context, Settings, fact

_EMPTY: Settings = {}
LONGEST_DAYS = 36500.0
"""Where there are next to no events a day, the log reaches back without end: said as a century."""


@fact(
    reads=("/log/capacity_events", "/log/events_per_day"),
    source="NIST SP 800-53r5 AU-4; capacity divided by rate",
    unit="days",
)
def log_days(record: Settings, _context: Context) -> float | None:
    """Days of events that the card keeps on average, at most a century.

    Events come in bursts: at the average, about half of such spans lose their oldest events.
    """
    log = record.get("log", _EMPTY)
    capacity, rate = log.get("capacity_events"), log.get("events_per_day")
    if capacity == 0:
        return 0.0
    if capacity is None or rate is None:
        return None
    return LONGEST_DAYS if rate * LONGEST_DAYS <= capacity else float(capacity / rate)
