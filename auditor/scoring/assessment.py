"""What an audit says of one card: findings with evidence and severity, score and coverage."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from functools import cache, lru_cache
from math import fsum
from typing import TYPE_CHECKING, Any, Final, NamedTuple

from auditor.dataclass import dataclass, field, replace
from auditor.facts.fact import Context
from auditor.record.reading import Record
from auditor.record.settings import Settings
from auditor.rules.evidence import Evidence, Wording, word
from auditor.rules.program import Coverage, Program, Shared, all_results, judge_card
from auditor.rules.result import Departure, Outcome, RuleResult
from auditor.rules.rule import Rule
from auditor.rules.sharing import Sharing
from auditor.rules.unusual import Batch, Unusual
from auditor.scoring.band import Band, band_of
from auditor.scoring.ccss import Scored, base_score, environmental_score
from auditor.scoring.environment import environment_of
from auditor.scoring.xccdf import Model, Score, Tally, score

if TYPE_CHECKING:
    from auditor.scoring.deviation import Deviation
    from auditor.scoring.located import Located


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
    deviation: "Deviation | None" = None
    """The deviation that covers it, where somebody answers for it: then it does not hold."""


@dataclass(frozen=True, slots=True)
class Missing:
    """A result that could not be decided, with the settings to capture; not a finding."""

    rule: Rule
    pointer: str
    label: str
    evidence: tuple[Evidence, ...]


class Basis(NamedTuple):
    """What a card was judged by: for what a report works out of it only where it is shown.

    ``settings`` are those of the record, clear secrets wrapped.
    """

    settings: Settings
    context: Context


@dataclass(frozen=True, slots=True)
class CardAssessment:
    """What an audit says of one card.

    ``unusual`` holds the results that differ from the program's usual ones, by place in its
    rules. ``findings`` stand worst first, ties by rule, then pointer; ``missing`` in the order
    of the rules. ``outcomes`` counts single results (a rule about members gives one a member).
    ``score.percent`` is 0 to 100, or None where nothing applies.
    ``worst`` is the band of the worst finding (``none`` without findings).
    """

    card: CardIdentity
    file: str
    line: int
    program: Program
    unusual: Unusual
    findings: tuple[Finding, ...]
    missing: tuple[Missing, ...]
    outcomes: Mapping[Outcome, int]
    score: Score
    coverage: Coverage
    worst: Band
    accepted_score: Score | None = None
    """The score with accepted deviations set aside; None where none covers anything here."""
    located: "Located | None" = None
    """Where the findings stand in the file; None where no format asked."""
    basis: Basis | None = field(default=None, repr=False, compare=False)
    """What it was judged by; None where nothing more is to be worked out of it."""

    @property
    def open_worst(self) -> Band:
        """Return the band of the worst finding that no deviation covers, ``none`` without one."""
        return next((found.band for found in self.findings if found.deviation is None), Band.NONE)

    @property
    def coverage_percent(self) -> float | None:
        """Return the share of the applicable results that are decided; None where nothing applies."""
        return self.coverage.percent

    @property
    def results(self) -> tuple[RuleResult, ...]:
        """Return one result for every rule, in the order of the program's rules."""
        return all_results(self.program, self.unusual)


@dataclass(frozen=True, slots=True)
class Lasting:
    """What the lasting rules said of a record: those that say the same on every day.

    ``unusual`` as in ``CardAssessment``, but without the leaves that decided; these are in
    words already, in ``findings`` and ``missing``, by place in the program's rules.
    """

    unusual: Unusual
    findings: Sequence[Finding] = ()
    missing: Sequence[Missing] = ()


def assess(
    record: Record, program: Program, context: Context, *,
    compiled: bool = True, known: Lasting | Sharing | None = None,
) -> CardAssessment:  # fmt: skip
    """Judge a record and score what was found; ``compiled`` as in ``judge_card``.

    ``known`` is what lasts of an assessment of the very same record by the very same program, or
    what records of this run share, by ``sharing_of`` this program and this context.
    """
    before = known if isinstance(known, Lasting) else _NOTHING_KNOWN
    basis = Basis(record.settings, context_of(record, context))
    judged = judge_card(program, *basis, compiled=compiled, known=_known_results(known, record))
    unusual = judged.unusual
    fresh = (
        (place, one) for place, one in sorted(unusual.single.items()) if place not in before.unusual.single
    )
    departed = [result for _, result in fresh if result.departures]
    identity = identity_of(record.settings)
    findings, missing = [*before.findings], [*before.missing]
    for result in departed:
        told = _told(result, program, identity.feeds)
        findings += told.findings
        missing += told.missing
    findings.sort(key=worst_first)
    score, outcomes = _sums(program, unusual)
    return CardAssessment(
        identity,
        record.file,
        record.line,
        program,
        unusual,
        tuple(findings),
        tuple(missing if before is _NOTHING_KNOWN else _by_rule(program, missing)),
        outcomes,
        score,
        judged.coverage,
        findings[0].band if findings else Band.NONE,
        basis=basis,
    )


_NOTHING_KNOWN: Final = Lasting(Unusual((), {}))


def _known_results(known: Lasting | Sharing | None, record: Record) -> Unusual | Shared | None:
    if isinstance(known, Sharing):
        return None if record.digests is None else Shared(known, record.digests)
    return None if known is None else known.unusual


def _by_rule(program: Program, missing: Iterable[Missing]) -> Iterable[Missing]:
    places = _places_of_rules(program)
    return sorted(missing, key=lambda each: places[each.rule.id])


@lru_cache(maxsize=8)
def _places_of_rules(program: Program) -> Mapping[str, int]:
    return {rule.id: place for place, rule in enumerate(program.rules)}


def context_of(record: Record, context: Context) -> Context:
    """Return the context in which a record is judged: with what is known of where it lies."""
    if record.in_work_tree is None or record.in_work_tree is context.in_work_tree:
        return context
    return replace(context, in_work_tree=record.in_work_tree)


def worst_first(finding: Finding) -> tuple[Decimal, str, str]:
    """Return the sort key of findings: worst first, ties by rule, then pointer."""
    return (-finding.severity.score, finding.rule.id, finding.pointer)


def score_of(results: Iterable[RuleResult], model: Model) -> Score:
    """Return the score of a card by a model: the weight of a rule is its CCSS base score.

    Source: NIST IR 7275r4 section 7.3.2 (models); the weights are our own choice.
    """
    return score(map(tally_of, results), model)


class _Sums(NamedTuple):
    """Points and maximum in tenths, passes, and rules that do not apply."""

    points: float
    maximum: int
    passed: int
    notapplicable: int


def _sums(program: Program, unusual: Unusual) -> tuple[Score, Mapping[Outcome, int]]:
    """Return the flat score of a card and its outcomes, from what is unusual.

    The same as ``score_of`` and a count over all results, with less work. Sums run in whole
    tenths of a point, so that they are exact but for shares of members; these are rounded once,
    at the end, so that the order of the results can't move the last digit.
    """
    outcomes = dict(_usual_outcomes(program))
    usual, maximum, passed, notapplicable = _usual_sums(program)
    parts = [usual]
    for batch in unusual.batches:
        points, most, passes, nothing = _sums_of_batch(batch)
        parts.append(points)
        maximum += most
        passed += passes
        notapplicable += nothing
    for result in unusual.single.values():
        more = _sums_of_rule(result.rule, result.passed, result.counted)
        parts.append(more.points)
        maximum += more.maximum
        passed += more.passed
        notapplicable += more.notapplicable
        for departure in result.departures:
            outcomes[departure.outcome] += 1
    outcomes[Outcome.PASS], outcomes[Outcome.NOTAPPLICABLE] = passed, notapplicable
    points = fsum(parts)
    percent = 100 * points / maximum if maximum else None
    return Score(points / 10, maximum / 10, percent), outcomes


@lru_cache(maxsize=4096)
def _sums_of_rule(rule: Rule, passed: int, counted: int) -> _Sums:
    """Return what a result of a rule adds to the sums, less what its usual result adds."""
    weight = int(base_score(rule.vector).score * 10)
    counts, usual = counted > 0, not rule.for_each
    share = passed / counted if counted else 0
    return _Sums(
        weight * (share - usual),
        weight * (counts - usual),
        passed - usual,
        (not counts) - (not usual),
    )


@cache
def _sums_of_batch(batch: Batch) -> _Sums:
    found = batch.results.values()
    parts = [_sums_of_rule(result.rule, result.passed, result.counted) for result in found]
    return _Sums(*(sum(column) for column in zip(*parts, strict=True)))


@lru_cache(maxsize=8)
def _usual_sums(program: Program) -> _Sums:
    usual = program.usual
    weights = sum(int(base_score(result.rule.vector).score * 10) for result in usual if result.passed)
    plain = sum(result.outcome is Outcome.NOTAPPLICABLE for result in usual)
    return _Sums(weights, weights, sum(result.passed for result in usual), plain)


@lru_cache(maxsize=8)
def _usual_outcomes(program: Program) -> Mapping[Outcome, int]:
    return {outcome: sum(usual.outcome is outcome for usual in program.usual) for outcome in Outcome}


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


class _Told(NamedTuple):
    """What the departures of one result come to."""

    findings: tuple[Finding, ...]
    missing: tuple[Missing, ...]


@lru_cache(maxsize=2048)  # cards of a run share results: see ``rules.sharing``
def _told(result: RuleResult, program: Program, feeds: str) -> _Told:
    """Return findings and missing settings, in the order of the departures, on a card that feeds this."""
    rule, wording = result.rule, Wording(program.facts, program.parameters)
    environment = environment_of(feeds or None, program.tailoring.environments).metrics
    findings, missing = list[Finding](), list[Missing]()
    for departure in result.departures:
        if is_finding(rule, departure.outcome):
            findings.append(_finding(rule, departure, wording, environment))
        else:
            evidence = _evidence(departure, wording)
            missing.append(Missing(rule, place_of(departure), departure.label, evidence))
    return _Told(tuple(findings), tuple(missing))


def _finding(rule: Rule, departure: Departure, wording: Wording, environment: Mapping[str, str]) -> Finding:
    severity = environmental_score(rule.vector, environment)
    return Finding(
        rule,
        departure.outcome,
        place_of(departure),
        departure.label,
        _evidence(departure, wording),
        departure.message,
        severity,
        band_of(severity.score),
    )


def place_of(departure: Departure) -> str:
    """Return the place that a result is about: its member, or the first setting of its evidence."""
    return departure.pointer or next((seen.where for seen in departure.seen if seen.where), "")


def _evidence(departure: Departure, wording: Wording) -> tuple[Evidence, ...]:
    if len(departure.seen) == 1:
        return (word(departure.seen[0], wording),)
    # Several leaves may ask of one setting only that it is known: it is told once.
    return tuple(dict.fromkeys(word(seen, wording) for seen in departure.seen))
