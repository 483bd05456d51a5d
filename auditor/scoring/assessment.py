"""What an audit says of one card: findings with evidence and severity, score and coverage."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal
from functools import cache, lru_cache
from typing import Any

from auditor.facts.fact import Context
from auditor.record.reading import Record
from auditor.rules.evidence import Evidence, Wording, word
from auditor.rules.program import Program, all_results, coverage_percent, judge_card
from auditor.rules.result import Departure, Outcome, RuleResult
from auditor.rules.rule import Rule
from auditor.scoring.band import Band, band_of
from auditor.scoring.ccss import Scored, base_score, environmental_score
from auditor.scoring.environment import environment_of
from auditor.scoring.xccdf import Model, Score, Tally, score


@dataclass(frozen=True, slots=True)
class CardIdentity:
    """Which card, and where it is; empty text where the record does not say."""

    id: str
    name: str
    site: str
    kind: str
    feeds: str
    location: str
    hardware_family: str
    firmware_version: str
    taken_at: str


@dataclass(frozen=True, slots=True)
class Finding:
    """A result that asks for something: a fail, an error, or an unknown that matters.

    ``pointer`` is the place that it is about: the list member, or the first setting of the
    evidence. ``label`` names the member for people, and is empty for findings on the card.
    ``severity`` is the CCSS score where the card is; ``band`` its word.
    """

    rule: Rule
    outcome: Outcome
    pointer: str
    label: str
    evidence: tuple[Evidence, ...]
    message: str
    severity: Scored
    band: Band


@dataclass(frozen=True, slots=True)
class Missing:
    """A result that could not be decided, with the settings to capture; not a finding."""

    rule: Rule
    pointer: str
    label: str
    evidence: tuple[Evidence, ...]


@dataclass(frozen=True, slots=True)
class CardAssessment:
    """What an audit says of one card.

    ``unusual`` holds the results that differ from the program's usual ones, by place in its
    rules. ``findings`` stand worst first, ties by rule, then pointer; ``missing`` in the order
    of the rules. ``outcomes`` counts single results (a rule about members gives one a member).
    ``coverage_percent`` and ``score.percent`` are 0 to 100, or None where nothing applies.
    ``worst`` is the band of the worst finding (``none`` without findings).
    """

    card: CardIdentity
    file: str
    line: int
    program: Program
    unusual: Mapping[int, RuleResult]
    findings: tuple[Finding, ...]
    missing: tuple[Missing, ...]
    outcomes: Mapping[Outcome, int]
    score: Score
    coverage_percent: float | None
    worst: Band

    @property
    def results(self) -> tuple[RuleResult, ...]:
        """Return one result for every rule, in the order of the program's rules."""
        return all_results(self.program, self.unusual)


def assess(record: Record, program: Program, context: Context, *, compiled: bool = True) -> CardAssessment:
    """Judge a record and score what was found; ``compiled`` as in ``judge_card``."""
    unusual = judge_card(program, record.settings, context, compiled=compiled)
    departed = [unusual[place] for place in sorted(unusual) if unusual[place].departures]
    identity = identity_of(record.settings)
    wording = Wording(program.facts, program.parameters)
    environment = environment_of(identity.feeds or None, program.tailoring.environments).metrics
    findings = sorted(_findings(departed, wording, environment), key=worst_first)
    return CardAssessment(
        identity,
        record.file,
        record.line,
        program,
        unusual,
        tuple(findings),
        tuple(_missing(departed, wording)),
        _outcomes(program, unusual, departed),
        flat_score(program, unusual),
        coverage_percent(program, unusual),
        findings[0].band if findings else Band.NONE,
    )


def worst_first(finding: Finding) -> tuple[Decimal, str, str]:
    """Return the sort key of findings: worst first, ties by rule, then pointer."""
    return (-finding.severity.score, finding.rule.id, finding.pointer)


def score_of(results: Iterable[RuleResult], model: Model) -> Score:
    """Return the score of a card by a model: the weight of a rule is its CCSS base score.

    Source: NIST IR 7275r4 section 7.3.2 (models); the weights are our own choice.
    """
    return score(map(tally_of, results), model)


def flat_score(program: Program, unusual: Mapping[int, RuleResult]) -> Score:
    """Return the flat score of a card, from what is unusual: ``score_of`` with less work.

    Sums run in whole tenths of a point, so that they are exact but for shares of members.
    """
    points, maximum = _usual_tenths(program)
    for place, result in unusual.items():
        weight, usual = _tenths(result.rule), program.usual[place]
        points += weight * (_share(result) - usual.passed)
        maximum += weight * ((result.counted > 0) - usual.counted)
    percent = 100 * points / maximum if maximum else None
    return Score(points / 10, maximum / 10, percent)


@lru_cache(maxsize=8)
def _usual_tenths(program: Program) -> tuple[float, int]:
    whole = sum(_tenths(usual.rule) * usual.passed for usual in program.usual)
    return whole, whole


@cache
def _tenths(rule: Rule) -> int:
    return int(base_score(rule.vector).score * 10)


def _share(result: RuleResult) -> float:
    if result.passed == result.counted:
        return 1 if result.counted else 0
    return result.passed / result.counted


def tally_of(result: RuleResult) -> Tally:
    """Return what a rule result contributes to a score; its group is the rule's family."""
    return Tally(weight_of(result.rule), result.passed, result.counted, result.rule.family)


def weight_of(rule: Rule) -> float:
    """Return the weight of a rule in a score: its CCSS base score, 0.0 to 10.0."""
    return float(base_score(rule.vector).score)


def identity_of(settings: Mapping[str, Any]) -> CardIdentity:
    """Return which card a record is of."""
    card = settings["card"]
    equipment = settings.get("equipment", {})
    return CardIdentity(
        card["id"],
        card.get("name", ""),
        card.get("site", ""),
        equipment.get("kind", ""),
        equipment.get("feeds", ""),
        card.get("location", ""),
        card.get("hardware_family", ""),
        card.get("firmware_version", ""),
        settings.get("capture", {}).get("taken_at", ""),
    )


def is_finding(rule: Rule, outcome: Outcome) -> bool:
    """Return whether an outcome of a rule is a finding: an unknown is one only where it matters."""
    return outcome is not Outcome.UNKNOWN or rule.unknown_matters


def _findings(
    departed: Sequence[RuleResult], wording: Wording, environment: Mapping[str, str]
) -> Iterable[Finding]:
    for result in departed:
        for departure in result.departures:
            if is_finding(result.rule, departure.outcome):
                yield _finding(result.rule, departure, wording, environment)


def _finding(rule: Rule, departure: Departure, wording: Wording, environment: Mapping[str, str]) -> Finding:
    severity = environmental_score(rule.vector, environment)
    return Finding(
        rule,
        departure.outcome,
        _place(departure),
        departure.label,
        _evidence(departure, wording),
        departure.message,
        severity,
        band_of(severity.score),
    )


def _missing(departed: Sequence[RuleResult], wording: Wording) -> Iterable[Missing]:
    for result in departed:
        for departure in result.departures:
            if not is_finding(result.rule, departure.outcome):
                yield Missing(result.rule, _place(departure), departure.label, _evidence(departure, wording))


def _place(departure: Departure) -> str:
    return departure.pointer or next((seen.where for seen in departure.seen if seen.where), "")


def _evidence(departure: Departure, wording: Wording) -> tuple[Evidence, ...]:
    return tuple(word(seen, wording) for seen in departure.seen)


def _outcomes(
    program: Program, unusual: Mapping[int, RuleResult], departed: Sequence[RuleResult]
) -> Mapping[Outcome, int]:
    counts = dict(_usual_outcomes(program))
    for place, result in unusual.items():
        usual = program.usual[place]
        counts[Outcome.PASS] += result.passed - usual.passed
        counts[Outcome.NOTAPPLICABLE] += (not result.counted) - (not usual.counted)
    for result in departed:
        for departure in result.departures:
            counts[departure.outcome] += 1
    return counts


@lru_cache(maxsize=8)
def _usual_outcomes(program: Program) -> Mapping[Outcome, int]:
    return {outcome: sum(usual.outcome is outcome for usual in program.usual) for outcome in Outcome}
