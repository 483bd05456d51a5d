"""The report as JUnit XML: a suite a card, a case a rule, for what shows results of tests.

The form has no standard; written are the elements and attributes that common readers share:
common practice, no source.
"""

from collections.abc import Iterable, Iterator, Mapping
from typing import BinaryIO, NamedTuple

from auditor.fleet.estate import EstateSummary
from auditor.report.deviation_view import accepted_text, fault_text
from auditor.report.figures import one_line, severity_text
from auditor.report.finding_text import finding_line
from auditor.report.plain import plain
from auditor.report.reuse_view import shared_rows
from auditor.report.writer import TOOL, Look, Run
from auditor.rules.result import Outcome, RuleResult
from auditor.scoring.assessment import CardAssessment, Finding

_SPECIAL = {"&": "&amp;", "<": "&lt;", ">": "&gt;", '"': "&quot;", "'": "&apos;"}
_IN_XML = str.maketrans(_SPECIAL)
ESTATE = "the estate"


class Case(NamedTuple):
    """One case: ``state`` is ``failure``, ``error``, ``skipped``, or empty for a pass."""

    name: str
    group: str
    state: str = ""
    kind: str = ""
    message: str = ""
    text: str = ""


class Junit:
    """Writes a suite for each card as it comes, and one for the estate at the end."""

    def __init__(self, run: Run, stream: BinaryIO) -> None:
        """Open the document."""
        self._run = run
        self._stream = stream
        self._stream.write(_HEAD.encode())

    def add(self, assessment: CardAssessment) -> None:
        """Write the suite of one card."""
        cases = _card_cases(assessment, self._run.program.tailoring.deselected)
        self._stream.write(suite(assessment.card.id, list(cases), assessment.file, self._run).encode())

    def finish(self, summary: EstateSummary) -> None:
        """Write the suite of the estate, and close the document."""
        cases = list(_estate_cases(summary))
        self._stream.write(suite(ESTATE, cases, "", self._run).encode() if cases else b"")
        self._stream.write(_END.encode())


_HEAD = f'<?xml version="1.0" encoding="UTF-8"?>\n<testsuites name="{TOOL}">\n'
_END = "</testsuites>\n"


def document(suites: Iterable[str]) -> bytes:
    """Return a whole document of some suites."""
    return f"{_HEAD}{''.join(suites)}{_END}".encode()


def suite(name: str, cases: list[Case], file: str, run: Run) -> str:
    """Return a suite; its counts are those of its cases."""
    states = [case.state for case in cases]
    counts = {
        "tests": str(len(cases)),
        "failures": str(states.count("failure")),
        "errors": str(states.count("error")),
        "skipped": str(states.count("skipped")),
    }
    moment = run.as_of.replace(microsecond=0).isoformat()
    said = {"name": name, **counts, "time": "0", "timestamp": moment, **({"file": file} if file else {})}
    body = "".join(_case(case) for case in cases)
    return f"<testsuite{_attributes(said)}>\n{body}</testsuite>\n"


def _case(case: Case) -> str:
    opening = f"<testcase{_attributes({'classname': case.group, 'name': case.name, 'time': '0'})}"
    if not case.state:
        return f"{opening}/>\n"
    said = {"message": case.message, **({"type": case.kind} if case.kind else {})}
    return f"{opening}><{case.state}{_attributes(said)}>{_xml(case.text)}</{case.state}></testcase>\n"


def _attributes(named: Mapping[str, str]) -> str:
    return "".join(f' {name}="{_xml(value)}"' for name, value in named.items())


def _xml(text: str) -> str:
    """Return text as XML may hold it: controls made visible line by line, signs as entities."""
    return "\n".join(plain(line).translate(_IN_XML) for line in text.split("\n"))


def _card_cases(assessment: CardAssessment, reasons: Mapping[str, str]) -> Iterator[Case]:
    found: dict[str, list[Finding]] = {}
    for finding in assessment.findings:
        found.setdefault(finding.rule.id, []).append(finding)
    for result in assessment.results:
        findings = found.get(result.rule.id)
        yield _found_case(result, findings) if findings else _plain_case(result, reasons)


def _found_case(result: RuleResult, findings: list[Finding]) -> Case:
    still = [finding for finding in findings if finding.deviation is None] or findings
    worst, rule = still[0], result.rule
    lines = "\n".join(plain(finding_line(each)) + _accepted(each) for each in findings)
    mend = f"\nMend: {one_line(rule.mend.text)}"
    message = f"{severity_text(worst)}: {one_line(rule.title)}"
    if worst.deviation is not None:
        return Case(rule.id, rule.family, "skipped", "", accepted_text(worst.deviation), lines)
    state = "error" if worst.outcome is Outcome.ERROR else "failure"
    return Case(rule.id, rule.family, state, worst.band.value, message, lines + mend)


def _accepted(finding: Finding) -> str:
    return f" ({accepted_text(finding.deviation)})" if finding.deviation is not None else ""


def _plain_case(result: RuleResult, reasons: Mapping[str, str]) -> Case:
    rule = result.rule
    match result.outcome:
        case Outcome.UNKNOWN:
            return Case(rule.id, rule.family, "skipped", "", "not known: the setting was not captured")
        case Outcome.NOTAPPLICABLE:
            return Case(rule.id, rule.family, "skipped", "", "does not apply to this card")
        case Outcome.NOTSELECTED:
            reason = one_line(reasons.get(rule.id, ""))
            return Case(rule.id, rule.family, "skipped", "", f"set aside by the site: {reason}")
        case _:
            return Case(rule.id, rule.family)


def _estate_cases(summary: EstateSummary) -> Iterable[Case]:
    for row in shared_rows(summary):
        message = f"{row.group.band.value} {row.group.severity.score}: {row.what} shared by {row.cards}"
        text = f"{row.seen}: {', '.join(row.card_ids)}; it opens {row.opens}"
        yield Case(row.what, "shared secrets", "failure", row.group.band.value, message, text)
    for each in summary.deviations.findings if summary.deviations else ():
        message = f"{each.band.value} {each.severity.score}: {each.what.title}"
        name = f"{each.id}, {each.deviation.file}:{each.deviation.line}"
        yield Case(name, "deviations", "failure", each.band.value, message, fault_text(each))
    for fault in summary.faults:
        yield Case(fault.file, "records", "error", "unusable", fault.problem, str(fault))


def make_junit(run: Run, stream: BinaryIO, look: Look) -> Junit:  # noqa: ARG001 - XML has one look
    """Return a writer of JUnit XML."""
    return Junit(run, stream)
