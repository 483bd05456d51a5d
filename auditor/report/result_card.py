"""One card of a result document (``witnessmark/result-1``), fast: constant parts are made once.

The shape is that of ``$defs/card`` in ``result-1.schema.json``. Holds no run and no sums.
"""

import re
from collections.abc import Callable, Mapping
from functools import cache, lru_cache
from typing import Any

import orjson

from auditor.report.plain import plain
from auditor.report.writer import Run
from auditor.rules.evidence import Evidence
from auditor.rules.result import Outcome, RuleResult
from auditor.rules.unusual import Batch
from auditor.scoring.assessment import CardAssessment, CardIdentity, Finding, Missing, score_of
from auditor.scoring.xccdf import Model, Score

_DECIMALS = 6

# Characters that act without being seen, in UTF-8: DEL and C1 controls, soft hyphen, marks and
# overrides of direction, zero-width characters, separators of lines, byte order mark, tags.
_ACTING = re.compile(
    "[\x7f-\x9f\u00ad\u061c\u180e\u200b-\u200f\u2028-\u202e\u2060-\u206f\ufeff\ufff9-\uffff\U000e0000-\U000e0fff]"
)
_HARMLESS = bytes(range(0x7F))

_OUTCOMES = {outcome: outcome.value for outcome in Outcome}
"""The words of the outcomes; to ask an enumeration for each takes longer than all the rest of them."""


def json_text(value: Any) -> bytes:  # noqa: ANN401 - any JSON value
    """Return a value as one line of JSON in which no character acts unseen.

    Such characters are written as escapes, so a reader of the JSON gets them back, but a
    terminal that shows the text does not obey them.
    """
    text = orjson.dumps(value)
    if text.isascii() and b"\x7f" not in text:
        return text
    # Most of a long text is ASCII: taking that away first makes the search ten times faster.
    unusual = text.translate(None, _HARMLESS).decode()
    return _ACTING.sub(_escape, text.decode()).encode() if _ACTING.search(unusual) else text


def number(value: float) -> float:
    """Return a number to six decimals: sums of many shares carry noise beyond that."""
    return round(value, _DECIMALS)


def score_document(score: Score) -> dict[str, Any]:
    """Return a score; ``percent`` is null where nothing was assessed."""
    percent = None if score.percent is None else number(score.percent)
    return {"points": number(score.points), "maximum": number(score.maximum), "percent": percent}


def coverage_document(coverage_percent: float | None) -> float | None:
    """Return a coverage in percent, or null where nothing applies."""
    return None if coverage_percent is None else number(coverage_percent)


def card_documents(run: Run) -> Callable[[CardAssessment], dict[str, Any]]:
    """Return the function that makes the document of a card of this run."""
    usual = {r.rule.id: _result(r.outcome, r.passed, r.counted) for r in run.program.usual}
    ids = tuple(usual)

    @cache
    def batched(batch: Batch) -> dict[str, orjson.Fragment]:
        return {ids[place]: _document(result) for place, result in batch.results.items()}

    def results(assessment: CardAssessment) -> dict[str, orjson.Fragment]:
        found = usual.copy()
        for batch in assessment.unusual.batches:
            found.update(batched(batch))
        for place, result in assessment.unusual.single.items():
            found[ids[place]] = _document(result)
        return found

    def document(assessment: CardAssessment) -> dict[str, Any]:
        return {
            "card": _identity(assessment.card),
            "file": safe_file(assessment.file),
            "line_number": assessment.line,
            "score": score_document(assessment.score),
            **_other_score(assessment, run.model),
            **_accepted_score(assessment, run),
            "coverage_percent": coverage_document(assessment.coverage_percent),
            "worst": assessment.worst.value,
            "outcomes": {_OUTCOMES[outcome]: count for outcome, count in assessment.outcomes.items()},
            "results": results(assessment),
            "findings": [finding_document(finding) for finding in assessment.findings],
            "missing": [_missing(missing) for missing in assessment.missing],
            **(_ways(assessment) if run.ways else {}),
        }

    return document


def _ways(assessment: CardAssessment) -> Mapping[str, Any]:
    from auditor.report.result_ways import way_documents  # few runs ask for ways

    return {"ways": way_documents(assessment)}


def _document(result: RuleResult) -> orjson.Fragment:
    return _result(result.outcome, result.passed, result.counted)


@cache
def _result(outcome: Outcome, passed: int, counted: int) -> orjson.Fragment:
    return orjson.Fragment(orjson.dumps({"outcome": outcome.value, "passed": passed, "counted": counted}))


@lru_cache(maxsize=64)
def safe_file(file: str) -> str:
    """Return the name of a file as text: a name may hold bytes that are none."""
    return plain(file)


def _identity(card: CardIdentity) -> dict[str, str]:
    return {name: value for name in CardIdentity.__slots__ if (value := getattr(card, name))}


def _other_score(assessment: CardAssessment, model: Model) -> Mapping[str, Any]:
    if model is Model.FLAT:
        return {}
    return {"model_score": score_document(score_of(assessment.results, model))}


def _accepted_score(assessment: CardAssessment, run: Run) -> Mapping[str, Any]:
    if run.deviations is None:
        return {}
    return {"accepted_score": score_document(assessment.accepted_score or assessment.score)}


def finding_document(finding: Finding) -> dict[str, Any]:
    """Return a finding, as ``$defs/finding`` of ``result-1.schema.json`` says."""
    document: dict[str, Any] = {
        "rule": finding.rule.id,
        "outcome": finding.outcome.value,
        **_place(finding),
        "severity": float(finding.severity.score),
        "band": finding.band.value,
        "vector": finding.severity.vector,
        "evidence": [_evidence(each) for each in finding.evidence],
    }
    if finding.message:
        document["message"] = finding.message
    if finding.deviation is not None:
        from auditor.report.deviation_view import mark_document  # many runs have no deviations

        document.update(mark_document(finding))
    return document


def _missing(missing: Missing) -> dict[str, Any]:
    evidence = [_evidence(each) for each in missing.evidence]
    return {"rule": missing.rule.id, **_place(missing), "evidence": evidence}


def _place(found: Finding | Missing) -> dict[str, str]:
    if found.label:
        return {"pointer": found.pointer, "label": found.label}
    return {"pointer": found.pointer}


def _evidence(evidence: Evidence) -> dict[str, str]:
    document = {"pointer": evidence.pointer, "observed": evidence.observed, "expected": evidence.asked}
    if evidence.fact:
        document["fact"] = evidence.fact
    return document


def _escape(found: re.Match[str]) -> str:
    code = ord(found[0])
    if code <= 0xFFFF:  # noqa: PLR2004 - the end of the basic plane
        return f"\\u{code:04x}"
    high, low = divmod(code - 0x10000, 0x400)
    return f"\\u{0xD800 + high:04x}\\u{0xDC00 + low:04x}"
