"""Which of two events on two cards came first, as far as their clocks can tell; holds no facts."""

from datetime import datetime
from enum import StrEnum


class Order(StrEnum):
    """What may be said of one event beside another. ``open`` means that their clocks can't tell."""

    BEFORE = "before"
    AFTER = "after"
    OPEN = "open"


def order_of_events(
    one: datetime, other: datetime, *, uncertainty_s: float | None, other_uncertainty_s: float | None
) -> Order:
    """Return whether an event was before or after another of a card with another clock.

    It is told only where the times are further apart than both uncertainties together; an
    unknown uncertainty tells nothing. Both moments are aware of their offset.

    Source: interval arithmetic; NIST SP 800-53r5 AU-8, SC-45.
    """
    if uncertainty_s is None or other_uncertainty_s is None:
        return Order.OPEN
    apart = (other - one).total_seconds()
    if abs(apart) <= uncertainty_s + other_uncertainty_s:
        return Order.OPEN
    return Order.BEFORE if apart > 0 else Order.AFTER
