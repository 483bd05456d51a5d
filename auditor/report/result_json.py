"""The result as one JSON document, ``witnessmark/result-1``, written card by card."""

from typing import BinaryIO

from auditor.fleet.estate import EstateSummary
from auditor.report.result_card import card_documents, json_text
from auditor.report.result_head import SCHEMA, rule_documents, run_document
from auditor.report.result_summary import Totals
from auditor.report.writer import Look, Run
from auditor.scoring.assessment import CardAssessment


class ResultJson:
    """Writes one document: the run and its rules first, a line for each card, the sums last."""

    def __init__(self, run: Run, stream: BinaryIO) -> None:
        """Write the head."""
        self._write = stream.write
        self._document = card_documents(run)
        self._totals = Totals(run)
        self._between = b"\n"
        head = json_text({"schema": SCHEMA, "run": run_document(run), "rules": rule_documents(run)})
        self._write(head[:-1] + b',\n"cards":[')

    def add(self, assessment: CardAssessment) -> None:
        """Write one card."""
        self._totals.add(assessment)
        self._write(self._between + json_text(self._document(assessment)))
        self._between = b",\n"

    def finish(self, summary: EstateSummary) -> None:
        """Write the sums and close the document."""
        self._write(b'\n],\n"summary":' + json_text(self._totals.document(summary)) + b"}\n")


def make_json(run: Run, stream: BinaryIO, look: Look) -> ResultJson:  # noqa: ARG001 - JSON has one look
    """Return a writer of one JSON document."""
    return ResultJson(run, stream)
