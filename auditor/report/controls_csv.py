"""The sums by control as CSV: one row a control of each crosswalk."""

from typing import BinaryIO

from auditor.fleet.estate import EstateSummary
from auditor.report.by_control import ControlCards, ControlSum, control_sums
from auditor.report.csv_rows import CsvRows
from auditor.report.writer import Look, Run
from auditor.scoring.assessment import CardAssessment

COLUMNS = (
    "crosswalk",
    "control",
    "title",
    "rules",
    "passed",
    "failed",
    "unknown",
    "cards_failing",
    "cards",
    "accepted",
)


class ControlsCsv:
    """Counts the cards as they come, and writes a row for each control at the end."""

    def __init__(self, run: Run, stream: BinaryIO) -> None:
        """Write the names of the columns."""
        self._run = run
        self._cards = ControlCards(run)
        self._rows = CsvRows(stream, COLUMNS)

    def add(self, assessment: CardAssessment) -> None:
        """Count one card."""
        self._cards.add(assessment)

    def finish(self, summary: EstateSummary) -> None:
        """Write every control that a rule of the run serves, in the order of the crosswalks."""
        for sums in control_sums(self._run, summary, self._cards):
            self._rows.write(row(sums, summary.whole.cards))


def row(sums: ControlSum, cards: int) -> tuple[str | float, ...]:
    """Return the cells of a control, as ``COLUMNS`` names them; ``cards`` were audited."""
    return (
        sums.crosswalk,
        sums.control,
        sums.title,
        " ".join(sums.rules),
        sums.passed,
        sums.failed,
        sums.unknown,
        sums.cards_failing,
        cards,
        sums.accepted,
    )


def make_controls_csv(run: Run, stream: BinaryIO, look: Look) -> ControlsCsv:  # noqa: ARG001 - CSV has one look
    """Return a writer of the sums by control as CSV."""
    return ControlsCsv(run, stream)
