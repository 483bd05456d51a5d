"""Truths of which some are unknown (None), joined after Kleene's strong tables; holds no facts."""

from collections.abc import Iterable


def all_of(*truths: bool | None) -> bool | None:
    """Return Kleene's conjunction; of no truths, true."""
    return False if False in truths else None if None in truths else True


def any_of(truths: Iterable[bool | None]) -> bool | None:
    """Return Kleene's disjunction; of no truths, false."""
    found = set(truths)
    return True if True in found else None if None in found else False


def opposite(truth: bool | None) -> bool | None:  # noqa: FBT001 - a truth is the datum
    """Return Kleene's negation."""
    return None if truth is None else not truth
