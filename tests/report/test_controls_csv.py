"""The sums by control as CSV: one row a control of each crosswalk."""

import csv
import io

from auditor.report.by_control import ControlCards, control_sums
from auditor.report.controls_csv import COLUMNS, make_controls_csv, row
from tests.report.sample import estate, golden, make_run, render, render_estate, sum_up


def _rows(text: bytes) -> list[list[str]]:
    return list(csv.reader(io.StringIO(text.decode(), newline=""), strict=True))


def test_the_rows_are_exactly_the_golden_ones() -> None:
    """Every cell of the small estate's controls is held."""
    text = render_estate(make_controls_csv)
    assert text == golden("controls.csv", text)


def test_reading_the_rows_back_gives_the_sums() -> None:
    """One row a control, in the order of the crosswalk, cell by cell."""
    run = make_run()
    assessments = estate(run)
    cards = ControlCards(run)
    for assessment in assessments:
        cards.add(assessment)
    sums = control_sums(run, sum_up(run, assessments), cards)
    expected = [[str(cell) for cell in row(each, len(assessments))] for each in sums]
    assert _rows(render_estate(make_controls_csv)) == [list(COLUMNS), *expected]


def test_an_estate_without_cards_has_controls_without_results() -> None:
    """Where nothing was audited every control is there, and all counts are 0."""
    rows = _rows(render(make_controls_csv, make_run(), []))[1:]
    assert [cells[1] for cells in rows] == ["AC-1", "AU-1", "CM-1"]
    assert {cell for cells in rows for cell in cells[4:]} == {"0"}
