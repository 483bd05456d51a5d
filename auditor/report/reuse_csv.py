"""Secrets and keys that cards share as CSV: one row a group, worst first. Never a secret."""

from typing import BinaryIO

from auditor.fleet.estate import EstateSummary
from auditor.report.csv_rows import CsvRows
from auditor.report.reuse_view import SharedRow, shared_rows
from auditor.report.writer import Look, Run
from auditor.scoring.assessment import CardAssessment

COLUMNS = (
    "severity",
    "band",
    "kind",
    "what",
    "seen_as",
    "opens",
    "cards",
    "life_safety_cards",
    "critical_cards",
    "other_cards",
    "card_ids",
    "more_cards",
    "vector",
    "because",
)


class ReuseCsv:
    """Writes a row for each group at the end, when all cards were seen."""

    def __init__(self, stream: BinaryIO) -> None:
        """Write the names of the columns."""
        self._rows = CsvRows(stream, COLUMNS)

    def add(self, assessment: CardAssessment) -> None:
        """Pass a card by: what it shares is known at the end only."""

    def finish(self, summary: EstateSummary) -> None:
        """Write every group, worst first."""
        for shared in shared_rows(summary, len(summary.shared)):
            self._rows.write(row(shared))


def row(shared: SharedRow) -> tuple[str | float, ...]:
    """Return the cells of a group, as ``COLUMNS`` names them.

    ``card_ids`` are joined by blanks, cards that feed a life-safety or critical load first; where
    the group is large some are left out, and ``more_cards`` counts them.
    """
    group = shared.group
    life_safety, critical = (group.feeds.get(load, 0) for load in ("life_safety", "critical"))
    return (
        float(group.severity.score),
        group.band.value,
        group.kind,
        shared.what,
        shared.seen,
        shared.opens,
        group.cards,
        life_safety,
        critical,
        group.cards - life_safety - critical,
        " ".join(shared.card_ids),
        shared.more,
        group.severity.vector,
        shared.because,
    )


def make_reuse_csv(run: Run, stream: BinaryIO, look: Look) -> ReuseCsv:  # noqa: ARG001 - CSV has one look
    """Return a writer of what cards share as CSV."""
    return ReuseCsv(stream)
