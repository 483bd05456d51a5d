"""The findings as CSV: one row a finding, for spreadsheets and databases."""

from typing import TYPE_CHECKING, BinaryIO

from auditor.fleet.estate import EstateSummary
from auditor.report.csv_rows import CsvRows
from auditor.report.writer import Look, Run
from auditor.rules.evidence import Evidence
from auditor.scoring.assessment import CardAssessment, Finding

if TYPE_CHECKING:
    from auditor.scoring.deviation import Deviation
    from auditor.scoring.deviation_finding import DeviationFinding

COLUMNS = (
    "card", "site", "kind", "feeds", "family", "rule", "title", "severity", "band", "outcome", "place",
    "pointer", "observed", "expected", "vector", "mend", "sources", "file", "record_line",
    "deviation_owner", "deviation_expires", "deviation_ticket",
)  # fmt: skip


class FindingsCsv:
    """Writes a row for each finding as the cards come, and at the end for each fault of a deviation."""

    def __init__(self, stream: BinaryIO) -> None:
        """Write the names of the columns."""
        self._rows = CsvRows(stream, COLUMNS)

    def add(self, assessment: CardAssessment) -> None:
        """Write the findings of one card, worst first."""
        for finding in assessment.findings:
            self._rows.write(row(assessment, finding))

    def finish(self, summary: EstateSummary) -> None:
        """Write what is wrong with deviations: findings on the estate. Sums are none."""
        for found in summary.deviations.findings if summary.deviations else ():
            self._rows.write(fault_row(found))


def row(assessment: CardAssessment, finding: Finding) -> tuple[str | float, ...]:
    """Return the cells of a finding, as ``COLUMNS`` names them.

    Where several settings decided, each observed and expected value names its own. ``record_line`` is
    the line of the file on which the record begins, not that of the setting.
    """
    card, rule = assessment.card, finding.rule
    return (
        card.id,
        card.site,
        card.kind,
        card.feeds,
        rule.family,
        rule.id,
        rule.title,
        float(finding.severity.score),
        finding.band.value,
        finding.outcome.value,
        finding.label,
        finding.pointer,
        _said(finding, "observed") or finding.message,
        _said(finding, "asked"),
        finding.severity.vector,
        " ".join(rule.mend.text.split()),
        "; ".join(rule.sources),
        assessment.file,
        assessment.line,
        *_accepted(finding.deviation),
    )


def _accepted(deviation: "Deviation | None") -> tuple[str, str, str]:
    if deviation is None:
        return "", "", ""
    return deviation.owner, deviation.expires.isoformat(), deviation.ticket


def fault_row(found: "DeviationFinding") -> tuple[str | float, ...]:
    """Return the cells of a fault of a deviation, as ``COLUMNS`` names them: it is on no card."""
    from auditor.report.deviation_view import fault_text  # many runs have no deviations

    deviation = found.deviation
    return (
        *("", "", "", ""),
        "deviations",
        found.id,
        found.what.title,
        float(found.severity.score),
        found.band.value,
        "fail",
        deviation.rule,
        "",
        fault_text(found),
        "",
        found.severity.vector,
        found.what.mend,
        "",
        deviation.file,
        deviation.line,
        *_accepted(deviation),
    )


def _said(finding: Finding, member: str) -> str:
    said = [(evidence, getattr(evidence, member)) for evidence in finding.evidence]
    if len(said) == 1:
        return str(said[0][1])
    return "; ".join(f"{_named(evidence)}: {value}" for evidence, value in said)


def _named(evidence: Evidence) -> str:
    return evidence.fact or evidence.pointer


def make_csv(run: Run, stream: BinaryIO, look: Look) -> FindingsCsv:  # noqa: ARG001 - CSV has one look
    """Return a writer of the findings as CSV."""
    return FindingsCsv(stream)
