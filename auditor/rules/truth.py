"""Three-valued truth, after Kleene's strong tables; holds no conditions."""

from enum import IntEnum


class Truth(IntEnum):
    """Truth of a condition. *And* is ``min``, *or* is ``max``, *not* is ``negation``.

    Source: S. C. Kleene, Introduction to Metamathematics (1952), section 64, strong tables.
    """

    FALSE = 0
    UNKNOWN = 1
    TRUE = 2

    @property
    def negation(self) -> "Truth":
        """Return false for true, true for false, and unknown for unknown."""
        return Truth(2 - self)


def truth_of(value: bool | None) -> Truth:  # noqa: FBT001 - the one place where a boolean comes in
    """Return the truth of a decided or undecided (None) question."""
    if value is None:
        return Truth.UNKNOWN
    return Truth.TRUE if value else Truth.FALSE
