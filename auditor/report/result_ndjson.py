"""The result as lines of JSON: the run, one line a card as it comes, the sums.

Each line says what it is, as ``$defs/line`` of ``result-1.schema.json`` describes.
"""

from typing import BinaryIO

from auditor.fleet.estate import EstateSummary
from auditor.report.result_card import card_documents, json_text
from auditor.report.result_head import SCHEMA, rule_documents, run_document
from auditor.report.result_summary import Totals
from auditor.report.writer import Look, Run
from auditor.scoring.assessment import CardAssessment


class ResultNdjson:
    """Writes a line for the run, one for each card, and one for the sums."""

    def __init__(self, run: Run, stream: BinaryIO) -> None:
        """Write the line of the run."""
        self._write = stream.write
        self._document = card_documents(run)
        self._totals = Totals(run)
        head = {"line": "run", "schema": SCHEMA, "run": run_document(run), "rules": rule_documents(run)}
        self._write(json_text(head) + b"\n")

    def add(self, assessment: CardAssessment) -> None:
        """Write the line of one card."""
        self._totals.add(assessment)
        self._write(json_text({"line": "card", **self._document(assessment)}) + b"\n")

    def finish(self, summary: EstateSummary) -> None:
        """Write the line of the sums."""
        line = {"line": "summary", "schema": SCHEMA, "summary": self._totals.document(summary)}
        self._write(json_text(line) + b"\n")


def make_ndjson(run: Run, stream: BinaryIO, look: Look) -> ResultNdjson:  # noqa: ARG001 - JSON has one look
    """Return a writer of lines of JSON."""
    return ResultNdjson(run, stream)
