"""What lasts of an assessment ↔ two texts: the plain results, and the departed.

Each line says what many cards of an estate share, so that it is read and made once: the plain
results of the rules on one list, or of one family; or one result with departures. Only the first
line of the plain results is a card's own. Places in the program stand for rules, so the texts mean
something beside that very program only. Nothing is kept of the leaves that decided: what reports
say of them is in words already.
"""

from collections.abc import Iterator, Mapping, Sequence
from functools import lru_cache
from typing import Any, Final, NamedTuple

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

_SHARED: Final = 8192
"""So many different lines are remembered; an estate of 5000 varied cards has about 2000 of them."""


def lasting_texts(assessment: CardAssessment) -> tuple[bytes, bytes]:
    """Return what lasts of an assessment, in two texts."""
    program, unusual = assessment.program, assessment.unusual
    lasting = _lasting_places(program)
    kept = sorted((place, each) for place, each in unusual.single.items() if place in lasting)
    plain = [orjson.dumps({str(place): each.passed for place, each in kept if not each.departures})]
    plain += _batch_texts(program, unusual.batches)
    told: list[Finding | Missing] = [*assessment.findings, *assessment.missing]
    worded = {(found.rule.id, found.pointer): found.evidence for found in told}
    departed = [
        orjson.dumps(
            [place, each.passed, each.counted, [_told(each.rule, one, worded) for one in each.departures]]
        )
        for place, each in kept
        if each.departures
    ]
    return b"\n".join(plain), b"\n".join(departed)


def lasting_of(plain: bytes, departed: bytes, program: Program, feeds: str) -> Lasting:
    """Return what two texts say of a card that feeds this load (empty: not known)."""
    first, *others = plain.split(b"\n")
    single = _plain_results(program, first)
    findings: list[Finding] = []
    missing: list[Missing] = []
    for line in departed.splitlines():
        one = _departed(program, line, feeds)
        single[one.place] = one.result
        findings += one.findings
        missing += one.missing
    batches = tuple(_batch(program, text) for text in others)
    return Lasting(Unusual(batches, single), findings, missing)


@lru_cache(maxsize=8)
def _lasting_places(program: Program) -> frozenset[int]:
    return frozenset(program.on_card) - frozenset(passing_places(program))


def _plain_results(program: Program, text: bytes) -> dict[int, RuleResult]:
    places = orjson.loads(text)
    return {int(place): undisputed(program.rules[int(place)], passed) for place, passed in places.items()}


def _batch_texts(program: Program, batches: Sequence[Batch]) -> Iterator[bytes]:
    """Yield a text for all batches about one list, and for those on the card by their family."""
    groups: dict[str, list[Batch]] = {}
    for batch in batches:
        rule = program.rules[next(iter(batch.results))]
        groups.setdefault(rule.for_each or rule.family, []).append(batch)
    return filter(None, (_batch_text(program, tuple(group)) for group in groups.values()))


@lru_cache(maxsize=_SHARED)
def _batch_text(program: Program, batches: Sequence[Batch]) -> bytes:
    """Return what lasts of some batches; nothing where all of their rules ask for the day."""
    lasting = _lasting_places(program)
    results = (pair for batch in batches for pair in batch.results.items())
    kept = sorted((place, each.passed) for place, each in results if place in lasting)
    return orjson.dumps({str(place): passed for place, passed in kept}) if kept else b""


@lru_cache(maxsize=_SHARED)
def _batch(program: Program, text: bytes) -> Batch:
    return batch_of(_plain_results(program, text))


def _told(rule: Rule, one: Departure, worded: Mapping[tuple[str, str], Sequence[Evidence]]) -> list[Any]:
    place = place_of(one)
    evidence = [list(_parts(each)) for each in worded[rule.id, place]]
    return [one.pointer, one.label, one.outcome.value, one.message, place, evidence]


def _parts(evidence: Evidence) -> tuple[str, ...]:
    return (evidence.pointer, evidence.observed, evidence.expected, evidence.fact, evidence.enough)


class _Departed(NamedTuple):
    """A result with departures, at its place among the rules, and what reports say of these."""

    place: int
    result: RuleResult
    findings: Sequence[Finding]
    missing: Sequence[Missing]


@lru_cache(maxsize=_SHARED)
def _departed(program: Program, text: bytes, feeds: str) -> _Departed:
    place, passed, counted, told = orjson.loads(text)
    rule = program.rules[place]
    environment = environment_of(feeds or None, program.tailoring.environments).metrics
    found = [_found(rule, each, environment) for each in told]
    return _Departed(
        place,
        _result(rule, passed, counted, told),
        tuple(each for each in found if isinstance(each, Finding)),
        tuple(each for each in found if isinstance(each, Missing)),
    )


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
