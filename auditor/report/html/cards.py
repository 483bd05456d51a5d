"""Cards for the page: what to do on each, and the points that each rule cost. Holds no markup."""

from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from auditor.dataclass import dataclass
from auditor.record.pointer import pattern
from auditor.report.writer import Run
from auditor.rules.result import Outcome, RuleResult
from auditor.rules.rule import Rule
from auditor.scoring.assessment import CardAssessment, Finding, score_of, weight_of
from auditor.scoring.band import Band
from auditor.scoring.xccdf import Model, Score


@dataclass(frozen=True, slots=True)
class Task:
    """What one rule asks of a card: its findings, or what it could not decide.

    ``highest`` is the severity of the worst finding, None where nothing is a finding. ``lost``
    of ``weight`` points are missing from the score for it. ``capture`` names the settings that
    its findings wait for; ``fails`` tells whether a result is known to fail.
    """

    rule: Rule
    highest: Decimal | None
    band: Band
    places: tuple[str, ...]
    lost: float
    weight: float
    capture: tuple[str, ...]
    fails: bool


@dataclass(frozen=True, slots=True)
class Sheet:
    """One card: who it is, its sums, its tasks, and the settings that nobody captured."""

    number: int
    assessment: CardAssessment
    tasks: tuple[Task, ...]
    capture: tuple[str, ...]
    other_score: Score | None

    def found(self, band: Band) -> int:
        """Return how many findings of a band the card has."""
        return sum(finding.band is band for finding in self.assessment.findings)


def sheets_of(run: Run, cards: Sequence[CardAssessment]) -> tuple[Sheet, ...]:
    """Return a sheet for every card, in their order."""
    return tuple(_sheet(run, number, card) for number, card in enumerate(cards))


def _sheet(run: Run, number: int, card: CardAssessment) -> Sheet:
    found: dict[str, list[Finding]] = {}
    for finding in card.findings:
        found.setdefault(finding.rule.id, []).append(finding)
    departed = [result for result in card.unusual.values() if result.departures]
    tasks = sorted((_task(result, found.get(result.rule.id, ())) for result in departed), key=_worst_first)
    other = None if run.model is Model.FLAT else score_of(card.results, run.model)
    return Sheet(number, card, tuple(tasks), tuple(dict.fromkeys(_wanted(card))), other)


def _task(result: RuleResult, findings: Sequence[Finding]) -> Task:
    weight = weight_of(result.rule)
    worst = max(findings, key=_severity, default=None)
    return Task(
        result.rule,
        worst.severity.score if worst else None,
        worst.band if worst else Band.NONE,
        tuple(departure.label for departure in result.departures if departure.label),
        weight - weight * result.passed / result.counted,
        weight,
        settings_to_capture(findings),
        result.outcome is not Outcome.UNKNOWN,
    )


def _severity(finding: Finding) -> Decimal:
    return finding.severity.score


def _worst_first(task: Task) -> tuple[Decimal, str]:
    return (Decimal(1) if task.highest is None else -task.highest, task.rule.id)


def settings_to_capture(findings: Iterable[Finding]) -> tuple[str, ...]:
    """Return the settings that findings wait for, lists' places as ``*``; empty where all fail."""
    unknown = (finding.evidence for finding in findings if finding.outcome is Outcome.UNKNOWN)
    return tuple(dict.fromkeys(pattern(each.pointer) for evidence in unknown for each in evidence))


def _wanted(card: CardAssessment) -> Iterator[str]:
    yield from settings_to_capture(card.findings)
    for missing in card.missing:
        yield from (pattern(each.pointer) for each in missing.evidence)


@dataclass(frozen=True, slots=True)
class Gap:
    """A setting that nobody captured: results that wait for it, their rules, and the cards by number."""

    setting: str
    results: int
    rules: tuple[str, ...]
    cards: tuple[int, ...]


def gaps_of(cards: Iterable[CardAssessment]) -> tuple[Gap, ...]:
    """Return the settings that undecided results wait for, those that most wait for first."""
    waiting: dict[str, list[tuple[int, str]]] = {}
    for number, card in enumerate(cards):
        for missing in card.missing:
            for evidence in missing.evidence:
                waiting.setdefault(pattern(evidence.pointer), []).append((number, missing.rule.id))
    gaps = [_gap(setting, pairs) for setting, pairs in waiting.items()]
    return tuple(sorted(gaps, key=_most_wanted_first))


def _gap(setting: str, pairs: Sequence[tuple[int, str]]) -> Gap:
    numbers = dict.fromkeys(number for number, _ in pairs)
    return Gap(setting, len(pairs), tuple(sorted({rule for _, rule in pairs})), tuple(numbers))


def _most_wanted_first(gap: Gap) -> tuple[int, str]:
    return (-gap.results, gap.setting)
