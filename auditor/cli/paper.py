"""The papers that pages can be laid out for; the values are sizes of CSS (CSS Paged Media Level 3)."""

from enum import StrEnum


class Paper(StrEnum):
    """A size of paper; without one, pages take the size that the printer holds."""

    A4 = "A4"
    LETTER = "letter"
