"""Findings as results of SARIF: where, how severe, known by which fingerprint, accepted by whom.

Source: SARIF 2.1.0 (OASIS), sections 3.27 (result) and 3.35 (suppression).
"""

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from auditor.report.deviation_view import accepted_text, fault_text
from auditor.report.figures import one_line
from auditor.report.finding_text import finding_line
from auditor.report.plain import plain
from auditor.report.result_card import json_text
from auditor.report.reuse_view import SharedRow
from auditor.report.sarif_place import logical, physical, region
from auditor.report.sarif_rules import level_of, shared_id
from auditor.scoring.assessment import CardAssessment, Finding
from auditor.scoring.band import Band
from auditor.scoring.ccss import Scored
from auditor.scoring.deviation import Deviation
from auditor.scoring.deviation_finding import DeviationFinding
from auditor.scoring.locating import pointers_of

FINGERPRINT = "witnessmarkFinding/v1"
"""Name of our fingerprints: card id, rule, and what names the member, whatever the order of the file."""


def card_results(assessment: CardAssessment, *, with_deviations: bool) -> Iterator[dict[str, Any]]:
    """Yield the results of a located card, worst first.

    ``with_deviations`` tells that deviations were given: then it is known of every result whether
    somebody answers for it.
    """
    located = assessment.located
    for number, finding in enumerate(assessment.findings):
        result = _result(assessment, finding)
        if located is not None:
            result["partialFingerprints"] = {FINGERPRINT: located.fingerprints[number]}
        if with_deviations:
            result["suppressions"] = [_suppression(finding.deviation)] if finding.deviation else []
        yield result


def _result(assessment: CardAssessment, finding: Finding) -> dict[str, Any]:
    first, *others = [_location(assessment, pointer, finding) for pointer in pointers_of(finding)]
    related = {"relatedLocations": others} if others else {}
    return {
        "ruleId": finding.rule.id,
        **_weight(finding.severity, finding.band),
        "message": {"text": plain(finding_line(finding))},
        "locations": [first],
        **related,
        "properties": {
            "card": plain(assessment.card.id),
            "outcome": finding.outcome.value,
            "severity": float(finding.severity.score),
            "band": finding.band.value,
            "vector": finding.severity.vector,
        },
    }


def _weight(severity: Scored, band: Band) -> Mapping[str, Any]:
    return {"level": level_of(band), "rank": float(severity.score * 10)}


def _location(assessment: CardAssessment, pointer: str, finding: Finding) -> dict[str, Any]:
    found = assessment.located.region(pointer) if assessment.located is not None else None
    where = region(found.span) if found is not None else None
    name = finding.label if pointer == finding.pointer else ""
    return {
        "physicalLocation": physical(assessment.file, where),
        "logicalLocations": [logical(assessment.card.id, pointer, name)],
    }


def _suppression(deviation: Deviation) -> dict[str, Any]:
    justification = f"{one_line(deviation.reason)} ({accepted_text(deviation)})"
    named = {"owner": deviation.owner, "ticket": deviation.ticket}
    return {
        "kind": "external",
        "status": "accepted",
        "justification": plain(justification),
        "location": {"physicalLocation": physical(deviation.file, {"startLine": deviation.line})},
        "properties": {
            **{name: plain(value) for name, value in named.items() if value},
            "approved": deviation.approved.isoformat(),
            "expires": deviation.expires.isoformat(),
        },
    }


def deviation_results(found: Iterable[DeviationFinding]) -> Iterator[dict[str, Any]]:
    """Yield what is wrong with deviations, at their lines."""
    for each in found:
        where = physical(each.deviation.file, {"startLine": each.deviation.line})
        yield {
            "ruleId": each.id,
            **_weight(each.severity, each.band),
            "message": {"text": plain(f"{each.what.title}: {fault_text(each)}")},
            "locations": [{"physicalLocation": where}],
            "partialFingerprints": {FINGERPRINT: _fingerprint(each)},
            "properties": {"severity": float(each.severity.score), "band": each.band.value},
        }


def _fingerprint(found: DeviationFinding) -> str:
    """Return by what a fault of a deviation is known again, wherever in its file that stands."""
    named = [
        (each.rule, each.cards, each.member, each.approved.isoformat())
        for each in (found.deviation, *([found.beside] if found.beside else ()))
    ]
    return hashlib.sha256(json_text([found.id, named])).hexdigest()[:32]


def shared_results(rows: Iterable[SharedRow]) -> Iterator[dict[str, Any]]:
    """Yield what several cards share: at no place in a file, by the names of the cards."""
    for row in rows:
        group = row.group
        ids = ", ".join(row.card_ids) + (f" and {row.more} more" if row.more else "")
        said = f"{row.what} shared by {row.cards} ({row.seen}): {ids}. It opens {row.opens}."
        yield {
            "ruleId": shared_id(group.kind),
            **_weight(group.severity, group.band),
            "message": {"text": plain(said)},
            "locations": [{"logicalLocations": [logical(name, "") for name in row.card_ids]}],
            "properties": {"severity": float(group.severity.score), "band": group.band.value},
        }
