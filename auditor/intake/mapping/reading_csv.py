"""CSV bytes → one block a row, asked by column. Knows no settings."""

from collections.abc import Mapping, Sequence

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError
from auditor.intake.csv_cells import CsvLimits, Row, read_rows, unguarded
from auditor.intake.mapping.numbered import numbers_in
from auditor.intake.mapping.place import NUMBER, OWN_NAME, Found, PlaceError

LIMITS = CsvLimits(size=4 * 1024 * 1024, columns=2_000)
"""Bytes and columns of a table of cards; our own figures."""

MOST_FAULTS = 100
"""Faults of one file that are listed; our own figure."""

_WIDTH = "Give every row all its cells, and put a cell that holds a separator in quotation marks."


def read_csv(text: bytes, file: str) -> "tuple[RowBlock, ...]":
    """Return one block for each row below the names of the columns; blank rows are left out.

    Raises:
        InputError: with every fault of the file: its text, its quotes, names of columns that are
            missing or stand twice, rows with more or fewer cells than there are columns.
    """
    rows = list(read_rows(text, file, LIMITS))
    faults = _faults(rows, file)
    if faults:
        raise InputError(faults[:MOST_FAULTS])
    columns = {plain(name): (place, name.strip()) for place, name in enumerate(rows[0].cells)}
    return tuple(RowBlock(columns, row) for row in rows[1:])


def _faults(rows: Sequence[Row], file: str) -> list[Fault]:
    width = len(rows[0].cells)
    faults = _faults_of_names(rows[0], file)
    for row in rows[1:]:
        if len(row.cells) != width:
            cells = "1 cell" if len(row.cells) == 1 else f"{len(row.cells)} cells"
            problem = f"a row of {cells}; there are {width} columns"
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


def plain(name: str) -> str:
    """Return the name of a column in the form in which two are compared."""
    return " ".join(name.split()).casefold()


@dataclass(frozen=True, slots=True)
class RowBlock:
    """One row, or what belongs to one number in it."""

    columns: Mapping[str, tuple[int, str]]
    row: Row
    number: str = ""

    def find(self, place: str) -> Sequence[Found]:
        """Return the cell of a column, if there is anything in it: an empty cell says nothing."""
        if place == OWN_NAME:
            return (Found(self.number, self.row.line, "row", "row", -1),)
        name = plain(place.replace(NUMBER, self.number or NUMBER))
        return self._cell(*self.columns[name]) if name in self.columns else ()

    def blocks(self, inside: str, each: str) -> "Sequence[RowBlock] | None":
        """Return a block for each number in the names of columns, such as ``Account # name``.

        Raises:
            PlaceError: if ``each`` has no number in it, or ``inside`` is given.
        """
        check_columns(inside, each)
        if not each:
            return (self,)
        numbers = numbers_in(plain(each), self.columns)
        found = (RowBlock(self.columns, self.row, number) for number in numbers)
        return tuple(block for block in found if block.find(each)) or None

    def holds_none(self, place: str) -> bool:  # noqa: ARG002 - an empty cell says nothing
        """Say no: a row has no empty lists."""
        return False

    def leaves(self) -> Sequence[Found]:
        """Return every cell that is not empty."""
        return tuple(found for column in self.columns.values() for found in self._cell(*column))

    def here(self) -> Found:
        """Return the place of the row."""
        return Found("", self.row.line, "row", "row", -1)

    def _cell(self, place: int, name: str) -> Sequence[Found]:
        try:
            text = unguarded(self.row.cells[place]).strip()
        except ValueError:
            return (Found("", self.row.line, name, name, place, _FORMULA),)
        return (Found(text, self.row.line, name, name, place),) if text else ()


_FORMULA = "a formula, not a value: give the value itself"


def check_columns(inside: str, each: str) -> None:
    """Check that the places of a list can be read.

    Raises:
        PlaceError: if ``each`` has no number in it, or ``inside`` is given.
    """
    if inside:
        raise PlaceError("CSV has nothing that a list stands inside", "Remove it.")
    if each and NUMBER not in each:
        problem = "a list in CSV has its number in the names of columns"
        raise PlaceError(problem, "Write it as Account # name.")
