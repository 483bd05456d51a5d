"""Rows → CSV that a spreadsheet shows and never obeys. Decides no columns."""

import csv
from collections.abc import Iterable
from typing import BinaryIO

from auditor.report.plain import plain

# Common practice, no source: a cell that starts like this may be taken for a formula, the wide
# forms of the signs in East Asian editions too.
_FORMULA = ("=", "+", "-", "@", "\uff1d", "\uff0b", "\uff0d", "\uff20")
_BLANK = ("\t", "\r", "\n")


class CsvRows:
    """Writes rows to a stream: lines end CRLF, text is quoted, numbers are not.

    Source: RFC 4180 section 2.
    """

    def __init__(self, stream: BinaryIO, columns: Iterable[str]) -> None:
        """Write the names of the columns."""
        self._rows = csv.writer(_Encoded(stream), quoting=csv.QUOTE_NONNUMERIC, lineterminator="\r\n")
        self.write(columns)

    def write(self, cells: Iterable[str | float]) -> None:
        """Write one row. Numbers stay numbers; text is made harmless."""
        self._rows.writerow([harmless(cell) if isinstance(cell, str) else cell for cell in cells])


def harmless(text: str) -> str:
    """Return text that no spreadsheet takes for a formula: an apostrophe goes before one."""
    risky = text.startswith(_BLANK) or text.lstrip().startswith(_FORMULA)
    return "'" + plain(text) if risky else plain(text)


class _Encoded:
    """Takes the text that the csv module writes to a stream of bytes."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream

    def write(self, text: str) -> int:
        return self._stream.write(text.encode())
