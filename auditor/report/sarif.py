"""The report as a SARIF log: results with the line and column of the very setting, for forges and editors.

Source: Static Analysis Results Interchange Format (SARIF) 2.1.0, OASIS Standard.
"""

from collections.abc import Iterable, Iterator, Mapping
from types import MappingProxyType
from typing import Any, BinaryIO

from auditor.errors import Fault
from auditor.fleet.estate import EstateSummary
from auditor.report.plain import plain
from auditor.report.result_card import json_text
from auditor.report.reuse_view import shared_rows
from auditor.report.sarif_place import fault_place
from auditor.report.sarif_result import card_results, deviation_results, shared_results
from auditor.report.sarif_rules import rule_descriptors
from auditor.report.writer import TOOL, Look, Run
from auditor.scoring.assessment import CardAssessment

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"


class Sarif:
    """Writes the rules first, a line for each result as the cards come, what could not be used last."""

    def __init__(self, run: Run, stream: BinaryIO) -> None:
        """Write the tool and its rules."""
        self._run = run
        self._write = stream.write
        self._between = b"\n"
        self._write(log_head(run))

    def add(self, assessment: CardAssessment) -> None:
        """Write the results of one card."""
        self._results(card_results(assessment, with_deviations=self._run.deviations is not None))

    def finish(self, summary: EstateSummary) -> None:
        """Write the findings on the estate, then how the run went."""
        shared, review = shared_results(shared_rows(summary)), summary.deviations
        if review is None:
            self._results(shared)
        else:
            # Where it is known of one result whether it is accepted, it must be known of all (3.27.23).
            found = (*shared, *deviation_results(review.findings))
            self._results({**result, "suppressions": []} for result in found)
        self._write(log_end(self._run, summary.faults, summary.unusable))

    def _results(self, results: Iterable[dict[str, Any]]) -> None:
        for result in results:
            self._write(self._between + json_text(result))
            self._between = b",\n"


def log_head(run: Run, further: Iterable[dict[str, Any]] = ()) -> bytes:
    """Return a log up to its first result; ``further`` are rules that only this log knows."""
    driver = {
        "name": TOOL,
        "version": run.version,
        "semanticVersion": run.version,
        "rules": [*rule_descriptors(run), *further],
    }
    head = {"columnKind": "unicodeCodePoints", "tool": {"driver": driver}}
    return (
        b'{"$schema":' + json_text(SCHEMA) + b',"version":"2.1.0","runs":[\n'
        + json_text(head)[:-1] + b',\n"results":['
    )  # fmt: skip


def log_end(
    run: Run, faults: Iterable[Fault], unusable: int, said: Mapping[str, str] = MappingProxyType({})
) -> bytes:
    """Return the end of a log: how the run went, what could not be used, what else is ``said`` of it."""
    invocation = {
        "executionSuccessful": not unusable,
        "toolExecutionNotifications": list(_notifications(faults)),
        "properties": {"asOf": run.as_of.isoformat(), "unusableRecords": unusable, **said},
    }
    return b'\n],\n"invocations":[' + json_text(invocation) + b"]}]}\n"


def _notifications(faults: Iterable[Fault]) -> Iterator[dict[str, Any]]:
    for fault in faults:
        at = f"{fault.pointer}: " if fault.pointer else ""
        yield {
            "level": "error",
            "message": {"text": plain(f"{at}{fault.problem}. {fault.remedy}")},
            "locations": [{"physicalLocation": fault_place(fault)}],
        }


def make_sarif(run: Run, stream: BinaryIO, look: Look) -> Sarif:  # noqa: ARG001 - JSON has one look
    """Return a writer of a SARIF log; its cards must be located."""
    return Sarif(run, stream)
