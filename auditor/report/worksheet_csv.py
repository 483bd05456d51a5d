"""The worksheet as CSV: one row an answer, to be filled in and imported."""

from collections.abc import Iterator
from typing import BinaryIO

from auditor.report.csv_rows import CsvRows
from auditor.report.worksheet import Line, Table, Worksheet

COLUMNS = ("pointer", "question", "unit", "allowed", "answer")


def write_csv(worksheet: Worksheet, stream: BinaryIO) -> None:
    """Write a row for every answer, in the order of the visit; what the head knows is answered."""
    rows = CsvRows(stream, COLUMNS)
    for box in worksheet.head:
        rows.write((box.pointer, box.title, "", box.allowed, box.value))
    for section in (section for part in worksheet.parts for section in part.sections):
        for table in section.tables:
            for cells in _rows(section.title, table):
                rows.write(cells)


def _rows(section: str, table: Table) -> Iterator[tuple[str, ...]]:
    for given in table.given:
        yield given.pointer, f"{section}: {given.title}", "", "", given.answer
    for at in range(len(table.columns)):
        for line in (line for line in table.lines if at < len(line.pointers) and line.pointers[at]):
            yield line.pointers[at], _question(section, table, line, at), line.unit, line.allowed, ""


def _question(section: str, table: Table, line: Line, at: int) -> str:
    of_member = len(line.pointers) == len(table.columns) and table.columns[at]
    where = ", ".join(
        filter(None, (section, table.title, f"number {table.columns[at]}" if of_member else ""))
    )
    return f"{where}: {line.title}. {line.text}"
