"""What every source can be asked, whatever its format: the values at a place, the repeated blocks."""

from collections.abc import Sequence
from typing import Protocol

from auditor.dataclass import dataclass, field


@dataclass(frozen=True, slots=True)
class Found:
    """One value of a source.

    ``at`` names its place exactly, ``name`` without numbers of members. ``key`` is its own in the
    source. ``fault`` says why there is no text to use, such as a group that is no one value.
    """

    text: str = field(repr=False)
    line: int
    at: str
    name: str
    key: int
    fault: str = ""


GROUP = "a group of settings stands here, not one value"


class Block(Protocol):
    """A part of a source that can be asked: the whole of one card, or one repeated block."""

    def find(self, place: str) -> Sequence[Found]:
        """Return what stands at a place, in file order; nothing if the source does not tell it.

        Raises:
            PlaceError: if the place is not written as the source's kind asks.
        """

    def blocks(self, inside: str, each: str) -> "Sequence[Block] | None":
        """Return the repeated blocks, in file order; None if the source does not tell of any.

        No block where the source has what would hold them.

        Raises:
            PlaceError: if a place is not written as the source's kind asks.
        """

    def holds_none(self, place: str) -> bool:
        """Tell whether the source has the list that a place leads into, and it is empty."""

    def leaves(self) -> Sequence[Found]:
        """Return every single value of the block, in file order."""

    def here(self) -> Found:
        """Return the place of the block itself, without a text."""


class PlaceError(ValueError):
    """A place in a map is not written as its source asks: what is wrong, and what to do."""

    def __init__(self, problem: str, remedy: str) -> None:
        """Keep all arguments in ``args``."""
        super().__init__(problem, remedy)
        self.problem, self.remedy = problem, remedy


OWN_NAME = "@name"
"""The place of a block's own name, the member name or title under which it stands; not in XML."""

NUMBER = "#"
"""Stands, in the places of a numbered list, for the number of the member."""
