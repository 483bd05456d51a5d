"""The end of a result document: sums, faults and the working of severities; holds no card."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import asdict
from typing import Any

from auditor.errors import Fault
from auditor.fleet.estate import EstateSummary, GroupSum
from auditor.report.address_view import clashes_document
from auditor.report.by_control import ControlCards, ControlSum, control_sums
from auditor.report.deviation_view import review_document
from auditor.report.plain import plain
from auditor.report.result_card import coverage_document, score_document
from auditor.report.result_order import order_document
from auditor.report.reuse_view import shared_document
from auditor.report.verdict import verdict
from auditor.report.writer import Run
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.band import band_of
from auditor.scoring.ccss import Scored, base_score

_STEP_DECIMALS = 4
"""As many as the formulas show."""


class Totals:
    """What the end of a document needs of the cards: who fails which control, which severities stand."""

    def __init__(self, run: Run) -> None:
        """Start with no card, and with the base severities of the run's rules."""
        self._run = run
        self._controls = ControlCards(run)
        scored = (base_score(rule.vector) for rule in run.program.rules)
        self._severities = {each.vector: each for each in scored}

    def add(self, assessment: CardAssessment) -> None:
        """Take one card."""
        if assessment.findings:
            self._controls.add(assessment)
            for finding in assessment.findings:
                self._severities.setdefault(finding.severity.vector, finding.severity)

    def document(self, summary: EstateSummary) -> dict[str, Any]:
        """Return the end of the document, as ``$defs/summary`` says."""
        said = verdict(summary)
        sums = control_sums(self._run, summary, self._controls)
        return {
            "held": summary.held,
            "hold_at": summary.hold_at.value,
            "verdict": said.word,
            "reason": said.reason,
            "unusable": summary.unusable,
            "faults": [fault_document(fault) for fault in summary.faults],
            "estate": {**_group(summary.whole), **_accepted(summary), "rules": _rules(summary.whole)},
            "groups": {name: [_named(group) for group in groups] for name, groups in summary.groups.items()},
            "controls": [_control(each) for each in sums],
            "shared": [shared_document(group) for group in summary.shared],
            **clashes_document(summary),
            **order_document(summary),
            **review_document(summary),
            **_reach(summary, self._run),
            "severities": _severities([*self._severities.values(), *_of_estate(summary)]),
        }


def _of_estate(summary: EstateSummary) -> Iterator[Scored]:
    yield from (one.severity for one in summary.shared)
    yield from (one.severity for one in summary.deviations.findings) if summary.deviations else ()


def _accepted(summary: EstateSummary) -> dict[str, Any]:
    if summary.deviations is None:
        return {}
    whole = summary.whole
    return {
        "accepted_score": score_document(whole.accepted_score),
        "accepted_by_band": _by_name(whole.accepted_by_band),
        "cards_by_open_worst": _by_name(whole.cards_by_open_worst),
    }


def _reach(summary: EstateSummary, run: Run) -> dict[str, Any]:
    if not run.ways:
        return {}
    from auditor.report.result_ways import reach_document  # few runs ask for ways

    return reach_document(summary)


def fault_document(fault: Fault) -> dict[str, Any]:
    """Return a fault as ``$defs/fault`` says."""
    found = {"file": plain(fault.file), "pointer": fault.pointer, "line": fault.line, "column": fault.column}
    place = {name: value for name, value in found.items() if value}
    return {**place, "problem": fault.problem, "remedy": fault.remedy}


def _named(group: GroupSum) -> dict[str, Any]:
    return {"name": group.name, **_group(group)}


def _group(group: GroupSum) -> dict[str, Any]:
    return {
        "cards": group.cards,
        "score": score_document(group.score),
        "coverage_percent": coverage_document(group.coverage_percent),
        "worst": group.worst.value,
        "cards_by_worst": _by_name(group.cards_by_worst),
        "findings_by_band": _by_name(group.findings_by_band),
        "outcomes": _by_name(group.outcomes),
    }


def _by_name(counts: Mapping[Any, int]) -> dict[str, int]:
    return {key.value: count for key, count in counts.items()}


def _rules(group: GroupSum) -> dict[str, Any]:
    return {name: asdict(sums) for name, sums in group.rules.items()}


def _control(sums: ControlSum) -> dict[str, Any]:
    return {**asdict(sums), "rules": list(sums.rules)}


def _severities(scored: Iterable[Scored]) -> dict[str, Any]:
    return {each.vector: _severity(each) for each in scored}


def _severity(scored: Scored) -> dict[str, Any]:
    steps = [
        {"name": step.name, "formula": step.formula, "value": round(float(step.value), _STEP_DECIMALS)}
        for step in scored.steps
    ]
    return {"score": float(scored.score), "band": band_of(scored.score).value, "steps": steps}
