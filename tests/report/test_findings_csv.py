"""The findings as CSV: what a spreadsheet shows, and never what it runs."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.report.csv_rows import CsvRows, harmless
from auditor.report.findings_csv import COLUMNS, make_csv, row
from auditor.report.plain import plain
from tests.report.hostile import PAYLOADS, assess_hostile
from tests.report.sample import SECRET, estate, golden, make_run, render, render_estate

# Common practice, no source: what starts a formula in a cell.
STARTS = ("=", "+", "-", "@", "\t", "\r", "\n")


def _rows(text: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text.decode(), newline=""), strict=True))


def test_the_rows_are_exactly_the_golden_ones() -> None:
    """Every cell of the small estate's findings is held."""
    text = render_estate(make_csv)
    assert text == golden("findings.csv", text)


def test_reading_the_rows_back_gives_the_findings() -> None:
    """One row a finding, in the order of the cards, cell by cell."""
    assessments = estate(make_run())
    expected = [[str(cell) for cell in row(a, finding)] for a in assessments for finding in a.findings]
    assert _rows(render_estate(make_csv)) == [list(COLUMNS), *expected]


def test_lines_end_as_the_standard_asks() -> None:
    """RFC 4180 section 2, rule 1: each record ends with CRLF, and no line ends otherwise."""
    text = render_estate(make_csv)
    assert text.endswith(b"\r\n")
    assert text.count(b"\n") == text.count(b"\r\n") == text.count(b"\r")


def test_our_numbers_stay_numbers() -> None:
    """A severity and a line can be sorted: they are not quoted, whatever their sign."""
    text = render_estate(make_csv).decode().splitlines()[1]
    assert ",10.0," in text
    assert ',"estate.ndjson",2,"' in text
    stream = io.BytesIO()
    CsvRows(stream, ["n"]).write([-1.5])
    assert stream.getvalue() == b'"n"\r\n-1.5\r\n'


@pytest.mark.parametrize("start", [*STARTS, "\uff1d", "  =", "\u00a0@"])
def test_a_formula_gets_an_apostrophe(start: str) -> None:
    """A cell that a spreadsheet may take for a formula no longer starts like one."""
    assert harmless(f"{start}1+1").startswith("'")


@given(st.text())
def test_no_text_starts_a_formula(text: str) -> None:
    """Whatever the text: the cell starts with none of the signs, and holds no line break."""
    cell = harmless(text)
    assert not cell.lstrip().startswith(STARTS)
    assert cell.removeprefix("'") in (plain(text), plain(text).removeprefix("'"))


@given(st.lists(st.lists(st.text(), min_size=2, max_size=2)))
def test_any_rows_come_back(rows: list[list[str]]) -> None:
    """Quotes, commas, breaks: the csv module reads back what was written (RFC 4180 section 2)."""
    stream = io.BytesIO()
    written = CsvRows(stream, ["a", "b"])
    for cells in rows:
        written.write(cells)
    assert _rows(stream.getvalue())[1:] == [[harmless(cell) for cell in cells] for cells in rows]


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_a_hostile_record_keeps_its_cells_and_starts_no_formula(payload: str) -> None:
    """Each row has its columns, no text cell starts a formula, no control is left, no secret shown."""
    run = make_run()
    text = render(make_csv, run, assess_hostile(run, payload), faults=())
    rows = _rows(text)
    assert {len(cells) for cells in rows} == {len(COLUMNS)}
    numbers = {COLUMNS.index("severity"), COLUMNS.index("record_line")}
    texts = [cell for cells in rows[1:] for place, cell in enumerate(cells) if place not in numbers]
    assert not [cell for cell in texts if cell.lstrip().startswith(STARTS)]
    assert all(letter.isprintable() or letter in "\r\n\u200c\u200d" for letter in text.decode())
    assert SECRET.encode() not in text
