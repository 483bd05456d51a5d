"""CSV bytes → one block a row, asked by column. Knows no settings.

Source: RFC 4180 for the form of the file. Separators other than a comma are common practice.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from auditor.errors import Fault, InputError
from auditor.intake.csv_cells import Row, read_rows, unguarded
from auditor.intake.mapping.numbered import numbers_in
from auditor.intake.mapping.place import NUMBER, OWN_NAME, Found, PlaceError

MOST_FAULTS = 100
"""Faults of one file that are listed; our own figure."""

_WIDTH = "Give every row all its cells, and put a cell that holds a separator in quotation marks."


def read_csv(text: bytes, file: str) -> "tuple[RowBlock, ...]":
    """Return one block for each row below the names of the columns; blank rows are left out.

    Raises:
        InputError: with every fault of the file: its text, its quotes, names of columns that are
            missing or stand twice, rows with more or fewer cells than there are columns.
    """
    rows = list(read_rows(text, file))
    faults = _faults(rows, file)
    if faults:
        raise InputError(faults[:MOST_FAULTS])
    columns = [name.strip() for name in rows[0].cells]
    return tuple(_row(columns, row) for row in rows[1:])


def _faults(rows: Sequence[Row], file: str) -> list[Fault]:
    width = len(rows[0].cells)
    faults = _faults_of_names(rows[0], file)
    for row in rows[1:]:
        if len(row.cells) != width:
            problem = f"a row of {len(row.cells)} cells; there are {width} columns"
            faults.append(Fault(file, "", row.line, 0, problem, _WIDTH))
    return faults


def _faults_of_names(header: Row, file: str) -> list[Fault]:
    faults = []
    seen: dict[str, int] = {}
    for number, name in enumerate(map(plain, header.cells), 1):
        if not name:
            problem = f"column {number} has no name"
            faults.append(Fault(file, "", header.line, 0, problem, "Name it, or remove it."))
        elif name in seen:
            problem = f"column {number} has the name of column {seen[name]}"
            faults.append(Fault(file, "", header.line, 0, problem, "Give each column a name of its own."))
        seen.setdefault(name, number)
    return faults


def _row(columns: Sequence[str], row: Row) -> "RowBlock":
    cells = zip(columns, row.cells, strict=True)
    found = (_found(name, cell, row.line, place) for place, (name, cell) in enumerate(cells))
    return RowBlock({plain(one.name): one for one in found}, row.line)


def _found(name: str, cell: str, line: int, place: int) -> Found:
    try:
        text = unguarded(cell).strip()
    except ValueError:
        return Found("", line, name, name, place, "a formula, not a value: give the value itself")
    return Found(text, line, name, name, place)


def plain(name: str) -> str:
    """Return the name of a column in the form in which two are compared."""
    return " ".join(name.split()).casefold()


@dataclass(frozen=True, slots=True)
class RowBlock:
    """One row, or what belongs to one number in it."""

    cells: Mapping[str, Found]
    line: int
    number: str = ""

    def find(self, place: str) -> Sequence[Found]:
        """Return the cell of a column, if there is anything in it: an empty cell says nothing."""
        if place == OWN_NAME:
            return (Found(self.number, self.line, "row", "row", -1),)
        found = self.cells.get(plain(place.replace(NUMBER, self.number or NUMBER)))
        return (found,) if found is not None and (found.text or found.fault) else ()

    def blocks(self, inside: str, each: str) -> "Sequence[RowBlock] | None":
        """Return a block for each number in the names of columns, such as ``Account # name``.

        Raises:
            PlaceError: if ``each`` has no number in it, or ``inside`` is given.
        """
        check_columns(inside, each)
        if not each:
            return (self,)
        numbers = numbers_in(plain(each), self.cells)
        filled = [number for number in numbers if self._is_filled(each, number)]
        return tuple(RowBlock(self.cells, self.line, number) for number in filled) or None

    def _is_filled(self, each: str, number: str) -> bool:
        return bool(self.cells[plain(each.replace(NUMBER, number))].text)

    def holds_none(self, place: str) -> bool:  # noqa: ARG002 - an empty cell says nothing
        """Say no: a row has no empty lists."""
        return False

    def leaves(self) -> Sequence[Found]:
        """Return every cell that is not empty."""
        return tuple(found for found in self.cells.values() if found.text or found.fault)

    def here(self) -> Found:
        """Return the place of the row."""
        return Found("", self.line, "row", "row", -1)


def check_columns(inside: str, each: str) -> None:
    """Check that the places of a list can be read.

    Raises:
        PlaceError: if ``each`` has no number in it, or ``inside`` is given.
    """
    if inside:
        raise PlaceError("CSV has nothing that a list stands inside", "Remove it.")
    if each and NUMBER not in each:
        raise PlaceError("a list in CSV has its number in the names of columns", "Write it as Account # name.")
