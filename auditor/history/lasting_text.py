"""What lasts of an assessment ↔ two texts: the plain results, which cards share, and the departed.

Places in the program stand for rules, so the texts mean something beside that very program only.
Nothing is kept of the leaves that decided: what reports say of them is in words already.
"""

from collections.abc import Mapping, Sequence
from functools import lru_cache
from typing import Any

import orjson

from auditor.rules.evaluating import worst_of
from auditor.rules.evidence import Evidence
from auditor.rules.program import Program, passing_places, undisputed
from auditor.rules.result import Departure, Outcome, RuleResult
from auditor.rules.rule import Rule
from auditor.rules.unusual import Batch, Unusual, batch_of
from auditor.scoring.assessment import CardAssessment, Finding, Lasting, Missing, is_finding, place_of
from auditor.scoring.band import band_of
from auditor.scoring.ccss import environmental_score
from auditor.scoring.environment import environment_of


def lasting_texts(assessment: CardAssessment) -> tuple[bytes, bytes]:
    """Return what lasts of an assessment, in two texts."""
    program, unusual = assessment.program, assessment.unusual
    lasting = _lasting_places(program)
    kept = sorted((place, each) for place, each in unusual.single.items() if place in lasting)
    plain = [orjson.dumps({str(place): each.passed for place, each in kept if not each.departures})]
    plain += filter(None, (_batch_text(program, batch) for batch in unusual.batches))
    told: list[Finding | Missing] = [*assessment.findings, *assessment.missing]
    worded = {(found.rule.id, found.pointer): found.evidence for found in told}
    departed = [
        [
            place,
            result.passed,
            result.counted,
            [_told(result.rule, each, worded) for each in result.departures],
        ]
        for place, result in kept
        if result.departures
    ]
    return b"\n".join(plain), orjson.dumps(departed)


def lasting_of(plain: bytes, departed: bytes, program: Program, feeds: str) -> Lasting:
    """Return what two texts say of a card that feeds this load (empty: not known)."""
    first, *others = plain.split(b"\n")
    single = _plain_results(program, first)
    findings: list[Finding] = []
    missing: list[Missing] = []
    environment = environment_of(feeds or None, program.tailoring.environments).metrics
    for place, passed, counted, told in orjson.loads(departed):
        rule = program.rules[place]
        found = [_found(rule, each, environment) for each in told]
        findings += (each for each in found if isinstance(each, Finding))
        missing += (each for each in found if isinstance(each, Missing))
        single[place] = _result(rule, passed, counted, told)
    batches = tuple(_batch(program, text) for text in others)
    return Lasting(Unusual(batches, single), findings, missing)


@lru_cache(maxsize=8)
def _lasting_places(program: Program) -> frozenset[int]:
    return frozenset(program.on_card) - frozenset(passing_places(program))


def _plain_results(program: Program, text: bytes) -> dict[int, RuleResult]:
    places = orjson.loads(text)
    return {int(place): undisputed(program.rules[int(place)], passed) for place, passed in places.items()}


@lru_cache(maxsize=4096)
def _batch_text(program: Program, batch: Batch) -> bytes:
    """Return what lasts of a batch; nothing where all of its rules ask for the day."""
    lasting = _lasting_places(program)
    kept = sorted((place, each.passed) for place, each in batch.results.items() if place in lasting)
    return orjson.dumps({str(place): passed for place, passed in kept}) if kept else b""


@lru_cache(maxsize=4096)
def _batch(program: Program, text: bytes) -> Batch:
    return batch_of(_plain_results(program, text))


def _told(
    rule: Rule, departure: Departure, worded: Mapping[tuple[str, str], Sequence[Evidence]]
) -> list[Any]:
    place = place_of(departure)
    evidence = [list(_parts(each)) for each in worded[rule.id, place]]
    return [departure.pointer, departure.label, departure.outcome.value, departure.message, place, evidence]


def _parts(evidence: Evidence) -> tuple[str, ...]:
    return (evidence.pointer, evidence.observed, evidence.expected, evidence.fact)


def _found(rule: Rule, told: Sequence[Any], environment: Mapping[str, str]) -> Finding | Missing:
    _, label, outcome, message, place, parts = told
    evidence = tuple(Evidence(*each) for each in parts)
    if not is_finding(rule, Outcome(outcome)):
        return Missing(rule, place, label, evidence)
    severity = environmental_score(rule.vector, environment)
    return Finding(rule, Outcome(outcome), place, label, evidence, message, severity, band_of(severity.score))


def _result(rule: Rule, passed: int, counted: int, told: Sequence[Sequence[Any]]) -> RuleResult:
    departures = tuple(
        Departure(pointer, label, Outcome(outcome), (), message)
        for pointer, label, outcome, message, _, _ in told
    )
    return RuleResult(rule, worst_of(departures), passed, counted, departures)
