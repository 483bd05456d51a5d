"""What every printed page carries in its margins: which cards, for when, by which rules, and its number.

A loose sheet is then still known, and has room for initials.
"""

from collections.abc import Sequence
from datetime import datetime

from auditor.dataclass import dataclass
from auditor.report.plain import plain

_NAMED = 3
"""Cards that a margin has room to name; our own figure."""

_FONT = "8pt 'Liberation Sans', Arial, Helvetica, sans-serif"


@dataclass(frozen=True, slots=True)
class RunningHead:
    """The margins of a page. ``paper`` is a size of CSS, such as ``A4``, or empty for the printer's own."""

    title: str
    date: str
    rules: str
    paper: str = ""

    @property
    def style(self) -> str:
        """Return the style sheet of the margins.

        Source: CSS Paged Media Level 3, margin boxes and page counters (from memory). Chromium
        prints them from version 131 on (from memory).
        """
        size = f" size: {self.paper};" if self.paper else ""
        return (
            f"@page {{{size} margin: 15mm 12mm 16mm;"
            f" @top-left {{ content: {css_text(self.title)}; font: 650 {_FONT}; color: #1c252c; }}"
            f" @top-right {{ content: {css_text(self.date)}; font: {_FONT}; color: #45515a; }}"
            f" @bottom-left {{ content: {css_text(self.rules)}; font: {_FONT}; color: #45515a; }}"
            f' @bottom-center {{ content: "Initials: ____________"; font: {_FONT}; color: #45515a; }}'
            ' @bottom-right { content: "Page " counter(page) " of " counter(pages);'
            f" font: {_FONT}; color: #45515a; }} }}\n"
        )


def running_head(
    kind: str, cards: Sequence[str], as_of: datetime, rules: Sequence[str], paper: str = ""
) -> RunningHead:
    """Return the margins of a document of some kind about some cards, such as ``Procedure: ups-07``."""
    return RunningHead(f"{kind}: {cards_text(cards)}", f"{as_of:%Y-%m-%d}", ", ".join(rules), paper)


def cards_text(cards: Sequence[str]) -> str:
    """Return the names of cards in a line; of many, the first and how many more there are."""
    more = len(cards) - _NAMED
    return ", ".join(cards[:_NAMED]) + (f" and {more} more" if more > 0 else "")


def css_text(text: str) -> str:
    """Return a text as a string of CSS in which nothing can end the string, act or hide.

    Source: CSS Syntax Level 3 section 4.3.5 (strings) and 4.3.7 (escapes).
    """
    shown = (c if c.isalnum() or c in " .,:;-_/@" else f"\\{ord(c):x} " for c in plain(text))
    return f'"{"".join(shown)}"'
