"""Text in columns of a terminal: widths, cutting, wrapping, grids. Knows no report."""

from collections.abc import Iterable, Iterator, Sequence
from enum import Enum
from itertools import zip_longest
from unicodedata import category, east_asian_width

from auditor.dataclass import dataclass
from auditor.report.ink import Ink, Style

_GAP = "  "
_SHOWS_WIDE = "\ufe0f"
"""Asks for the picture form of the sign before it, which terminals show in two columns."""


class Fit(Enum):
    """What happens to a cell that is too wide: never, wrapped, cut at its end, or cut at its start."""

    WHOLE = "whole"
    WRAP = "wrap"
    CUT_END = "end"
    CUT_START = "start"


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a grid: its name, whether it holds numbers, and what may be cut."""

    name: str
    number: bool = False
    fit: Fit = Fit.WHOLE


@dataclass(frozen=True, slots=True)
class Cell:
    """Text in a style."""

    text: str
    style: Style = Style.USUAL


def width_of(text: str) -> int:
    """Return the columns that a text takes in a terminal, or a few more, never fewer.

    Source: Unicode Standard Annex 11 (wide and full-width characters take two columns).
    """
    return len(text) if text.isascii() else sum(map(_letter_width, text))


def _letter_width(letter: str) -> int:
    if letter == _SHOWS_WIDE:
        return 1
    if category(letter) in ("Mn", "Me", "Cf"):
        return 0
    return 2 if east_asian_width(letter) in "WF" else 1


def cut(text: str, width: int, fit: Fit = Fit.CUT_END) -> str:
    """Return a text that takes at most ``width`` columns, with an ellipsis where it was cut."""
    if width_of(text) <= width:
        return text
    if fit is Fit.CUT_START:
        return "…" + _most(text[::-1], width - 1)[::-1]
    return _most(text, width - 1) + "…"


def _most(text: str, width: int) -> str:
    """Return the longest beginning of a text that takes at most ``width`` columns."""
    taken = 0
    for place, letter in enumerate(text):
        taken += _letter_width(letter)
        if taken > width:
            return text[:place]
    return text


def wrap(text: str, width: int, *, first: str = "", later: str = "") -> list[str]:
    """Return a text in lines of at most ``width`` columns; ``first`` and ``later`` begin them.

    Words that are longer than a line are broken. A text without words gives one line.
    """
    lines = [first]
    empty = True
    for word in _pieces(text, width - max(len(first), len(later))):
        if not empty and width_of(lines[-1]) + 1 + width_of(word) > width:
            lines.append(later)
            empty = True
        lines[-1] += word if empty else f" {word}"
        empty = False
    return lines


def flow(parts: Iterable[str], width: int) -> list[str]:
    """Return parts in lines of at most ``width`` columns, broken between parts where possible."""
    lines: list[str] = []
    for part in parts:
        longer = f"{lines[-1]} · {part}" if lines else part
        if lines and width_of(longer) <= width:
            lines[-1] = longer
        else:
            lines += wrap(part, width)
    return lines


def _pieces(text: str, width: int) -> Iterator[str]:
    for word in text.split():
        rest = word
        while width_of(rest) > width:
            piece = _most(rest, width)
            yield piece
            rest = rest[len(piece) :]
        yield rest


def grid(columns: Sequence[Column], rows: Iterable[Sequence[Cell]], width: int, ink: Ink) -> list[str]:
    """Return the lines of a grid: names, a rule, the rows; none wider than ``width``.

    Columns that may be cut or wrapped share what the others leave.
    """
    rows = list(rows)
    widths = _widths(columns, rows, width)
    heads = [Cell(column.name, Style.STRONG) for column in columns]
    rule = _GAP.join(ink("─" * each, Style.FAINT) for each in widths)
    lines = (line for row in rows for line in _wrapped(columns, row, widths))
    return [_line(columns, heads, widths, ink), rule, *(_line(columns, line, widths, ink) for line in lines)]


def _wrapped(
    columns: Sequence[Column], cells: Sequence[Cell], widths: Sequence[int]
) -> Iterator[Sequence[Cell]]:
    """Yield a row as one line or more: those after the first hold what did not fit in wrapped cells."""
    texts = (
        wrap(cell.text, width) if column.fit is Fit.WRAP else [cell.text]
        for column, cell, width in zip(columns, cells, widths, strict=True)
    )
    for line in zip_longest(*texts, fillvalue=""):
        yield [Cell(text, cell.style) for text, cell in zip(line, cells, strict=True)]


def _line(columns: Sequence[Column], cells: Sequence[Cell], widths: Sequence[int], ink: Ink) -> str:
    shown = [_shown(*each, ink) for each in zip(columns, cells, widths, strict=True)]
    return _GAP.join(shown).rstrip()


def _shown(column: Column, cell: Cell, width: int, ink: Ink) -> str:
    text = cut(cell.text, width, column.fit)
    space = " " * (width - width_of(text))
    painted = ink(text, cell.style)
    return space + painted if column.number else painted + space


def _widths(columns: Sequence[Column], rows: Sequence[Sequence[Cell]], width: int) -> list[int]:
    wanted = [
        max(width_of(text) for text in (column.name, *(row[place].text for row in rows)))
        for place, column in enumerate(columns)
    ]
    left = width - len(_GAP) * (len(columns) - 1)
    left -= sum(want for want, column in zip(wanted, columns, strict=True) if column.fit is Fit.WHOLE)
    flexible = sorted(
        (place for place, column in enumerate(columns) if column.fit is not Fit.WHOLE), key=wanted.__getitem__
    )
    for behind, place in enumerate(flexible):
        wanted[place] = min(wanted[place], left // (len(flexible) - behind))
        left -= wanted[place]
    return wanted
