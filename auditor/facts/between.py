"""A whole number of which only the bounds are known, as the length of a sealed secret."""

from typing import Self


class Between(int):
    """A whole number from ``int(self)`` to ``most``, both included; ``most`` None: no upper bound.

    The rule language asks of it what holds for every number between; where that differs, the
    answer is unknown. A fact that computes with it must ask for its bounds.
    """

    most: int | None

    def __new__(cls, least: int, most: int | None) -> Self:
        """Make one of its bounds."""
        made = super().__new__(cls, least)
        made.most = most
        return made

    def __str__(self) -> str:
        """Word it for a report."""
        return f"{int(self)} or more" if self.most is None else f"{int(self)} to {self.most}"


def may_be_equal(one: int, other: int) -> bool:
    """Tell whether two numbers, of which perhaps only bounds are known, may be the same."""
    return not (_is_above(one, other) or _is_above(other, one))


def _is_above(one: int, other: int) -> bool:
    most = other.most if isinstance(other, Between) else int(other)
    return most is not None and int(one) > most
