"""CSV bytes → rows of cells with their lines, and rows → CSV; knows no columns.

Hardened against what spreadsheets, other editors and hostile hands leave behind: byte order
marks, any line ends, stray quotation marks, NULs, formulas, rows that are too short or long.

Source: RFC 4180; that a header decides the separator is common practice, no source.
"""

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from typing import NoReturn

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError

_MEBIBYTE = 1024 * 1024
_SEPARATORS = ",;\t"
_SIGNS = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_FORMULA = ("=", "\uff1d")
_NUMBER = re.compile(r"[+-]?[0-9]+(\.[0-9]+)?([eE][+-]?[0-9]+)?")
LONGEST_CELL = 131_072
"""Characters of one cell: what Python's own reader of CSV takes unless told otherwise."""


@dataclass(frozen=True, slots=True)
class CsvLimits:
    """Bytes of the file, rows, columns. The figures are our own."""

    size: int = 16 * _MEBIBYTE
    rows: int = 20_000
    columns: int = 20_000


DEFAULT_CSV = CsvLimits()


@dataclass(frozen=True, slots=True)
class Row:
    """One row: the line it begins on, from 1, and its cells as they stand in the file."""

    line: int
    cells: tuple[str, ...]


def read_rows(text: bytes, file: str, limits: CsvLimits = DEFAULT_CSV) -> Iterator[Row]:
    """Yield the rows that hold anything, the header first.

    The separator is the first of comma, semicolon and tab that the first line holds.

    Raises:
        InputError: with one fault, where the file stops being CSV or goes beyond a limit.
    """
    whole = _decoded(text, file, limits)
    first_line = whole.lstrip("\r\n").partition("\n")[0]
    separator = next((letter for letter in first_line if letter in _SEPARATORS), ",")
    reader = csv.reader(io.StringIO(whole, newline=""), delimiter=separator, strict=True)
    number, line, found = 0, 1, False
    try:
        for cells in reader:
            number += 1
            if number > limits.rows or len(cells) > limits.columns:
                _refuse(file, line, _too_many(number, limits), "Spread it over several files.")
            if any(cell.strip() for cell in cells):
                found = True
                yield Row(line, tuple(cells))
            line = reader.line_num + 1
    except csv.Error as error:
        _refuse(file, line, *_words(str(error)))
    if not found:
        _refuse(file, 0, *_EMPTY)


def unguarded(cell: str) -> str:
    """Return a cell's text without the apostrophe that keeps it from being a formula.

    Raises:
        ValueError: if the cell is a formula itself.
    """
    if cell.startswith("'") and (cell[1:].lstrip().startswith(_SIGNS) or cell[1:2] == "'"):
        return cell[1:]
    if cell.lstrip().startswith(_FORMULA):
        raise ValueError("a formula")
    return cell


def guarded(text: str) -> str:
    """Return a cell from which ``unguarded`` gives the text, and that no spreadsheet obeys.

    An apostrophe goes before a sign that begins a formula, and before an apostrophe; numbers stay.
    """
    risky = text.lstrip().startswith(_SIGNS) and not _NUMBER.fullmatch(text)
    return "'" + text if risky or text.startswith("'") else text


def written(rows: Iterable[Sequence[str]]) -> str:
    """Return rows as CSV, every cell guarded; lines end CRLF."""
    stream = io.StringIO(newline="")
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerows([guarded(cell) for cell in row] for row in rows)
    return stream.getvalue()


def _decoded(text: bytes, file: str, limits: CsvLimits) -> str:
    if len(text) > limits.size:
        problem = f"larger than {limits.size // _MEBIBYTE} MiB, the most for one sheet"
        _refuse(file, 0, problem, "Spread it over several files.")
    if text.startswith((b"\xff\xfe", b"\xfe\xff")):
        _refuse(file, 1, "the text is UTF-16", _SAVE_AS)
    if text.startswith((b"PK", b"\x1f\x8b")):
        _refuse(file, 1, "this is a workbook or an archive, not CSV", _SAVE_AS)
    try:
        whole = text.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        _refuse(file, text.count(b"\n", 0, error.start) + 1, "the text is not UTF-8", _SAVE_AS)
    if "\0" in whole:
        line = whole.count("\n", 0, whole.index("\0")) + 1
        _refuse(file, line, "a NUL character", "Save the sheet again: no CSV holds one.")
    if not whole.strip():
        _refuse(file, 0, *_EMPTY)
    return whole


_EMPTY = ("empty", "Begin with the empty form, whose first row names the columns.")

_SAVE_AS = "Save the sheet as CSV in UTF-8."


def _too_many(number: int, limits: CsvLimits) -> str:
    if number > limits.rows:
        return f"more than {limits.rows} rows"
    return f"more than {limits.columns} columns"


def _words(error: str) -> tuple[str, str]:
    if "larger than field limit" in error:
        return f"a cell of more than {LONGEST_CELL} characters", "Shorten it, or leave it empty."
    if "unexpected end" in error:
        return "a quotation mark in this row is never closed", _QUOTES
    return "text follows a closing quotation mark in this row", _QUOTES


_QUOTES = "Put a cell that holds a quotation mark into quotation marks, and write the mark twice."


def _refuse(file: str, line: int, problem: str, remedy: str) -> NoReturn:
    raise InputError([Fault(file, "", line, 0, problem, remedy)])
