"""Facts on the event log: how far back it reaches, and how sure that is."""

from bisect import bisect_right
from functools import lru_cache
from math import erfc, exp, floor, inf, lgamma, log, sqrt
from typing import Final

from auditor.facts.fact import Context, Settings, fact

_EMPTY: Settings = {}
LONGEST_DAYS = 36500.0
"""Where there are next to no events a day, the log reaches back without end: said as a century."""

ACCEPTED_CHANCE: Final = 0.01
"""Chance of losing events that still counts as safe: common practice, no source."""

_QUANTILE: Final = -2.3263478740408408
"""Where the standard normal distribution has passed that chance; ``statistics`` says so in a test."""

_ROUGH_ERROR: Final = 0.03
"""The approximation is off by fewer events than this: test_log holds it."""
_MOST_SUMMED: Final = 1_000_000


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


@fact(
    reads=("/log/capacity_events", "/log/events_per_day"),
    source="NIST SP 800-53r5 AU-4; survival function of the Poisson distribution",
    unit="days",
)
def log_safe_days(record: Settings, _context: Context) -> int | None:
    """Longest whole days between two sweeps that lose events with a chance of at most 1 %.

    Takes events to come independently of each other, at one rate. Real ones come in bursts,
    which makes this the hopeful side.
    """
    section = record.get("log", _EMPTY)
    capacity, rate = section.get("capacity_events"), section.get("events_per_day")
    if capacity == 0:
        return 0
    return None if capacity is None or rate is None else _safe_days(capacity, rate)


def chance_of_wrap(record: Settings, interval_days: float) -> float | None:
    """Return the chance, 0 to 1, that between two sweeps the log overwrites the first event after the first.

    None while capacity or rate is unknown. The same assumptions as ``log_safe_days``: real events
    come in bursts, so this is the hopeful side.
    """
    section = record.get("log", _EMPTY)
    capacity, rate = section.get("capacity_events"), section.get("events_per_day")
    if capacity == 0:
        return 1.0
    return None if capacity is None or rate is None else chance_of_loss(capacity, rate * interval_days)


def days_lost(record: Settings, interval_days: float) -> float | None:
    """Return of how many days after a sweep the events are gone by the next, at the usual rate.

    An outage on one of these days leaves no trace on the card. 0 where the log reaches back that far.
    """
    reach = log_days.compute(record, None)
    return max(0.0, interval_days - reach) if isinstance(reach, float) else None


@lru_cache(maxsize=4096)
def _safe_days(capacity: int, rate: float) -> int:
    """Return the last day on which the chance is accepted, between bounds that are soon found."""
    longest = int(LONGEST_DAYS)
    rough = _accepted_events(capacity)
    low = floor(min(max(rough - _ROUGH_ERROR, 0), longest * rate) / rate) if rate else longest
    high = floor(min(rough + _ROUGH_ERROR, longest * rate) / rate) if rate else longest
    if low == high:
        return low
    days = range(low, high + 1)
    found = bisect_right(days, ACCEPTED_CHANCE, key=lambda day: chance_of_loss(capacity, rate * day))
    return days[found - 1] if found else low


def _accepted_events(capacity: int) -> float:
    """Return about how many expected events are still accepted.

    Source: E. B. Wilson and M. M. Hilferty (1931), the cube root of a gamma variate is nearly
    normal (from memory).
    """
    return float(capacity * (1 - 1 / (9 * capacity) + _QUANTILE / (3 * sqrt(capacity))) ** 3)


def chance_of_loss(capacity: int, expected: float) -> float:
    """Return the chance that a log is full when so many events are expected: P(X ≥ capacity), Poisson.

    Then the entry that was there first is gone. A sum of logarithms keeps its digits where the
    chance is minute. Above a million entries it is the approximation of Wilson and Hilferty.
    """
    if capacity <= 0 or expected == inf:
        return 1.0
    if expected <= 0:
        return 0.0
    if capacity > _MOST_SUMMED:
        deviation = ((expected / capacity) ** (1 / 3) - 1 + 1 / (9 * capacity)) * 3 * sqrt(capacity)
        return erfc(-deviation / sqrt(2)) / 2
    if expected < capacity:
        return _tail(capacity, expected, up=True)
    return 1 - _tail(capacity - 1, expected, up=False)


def _tail(count: int, expected: float, *, up: bool) -> float:
    """Return the sum of the chances from a count on, upwards or downwards: terms that fall."""
    total = term = 1.0
    place = count
    while term > total * 1e-17:
        term *= expected / (place + 1) if up else place / expected
        place += 1 if up else -1
        total += term
    return exp(count * log(expected) - expected - lgamma(count + 1) + log(total))
