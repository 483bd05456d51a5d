"""Sums per control of a crosswalk: what an assessor of a published catalogue asks for."""

from collections import Counter
from collections.abc import Iterable, Mapping
from collections.abc import Set as AbstractSet
from typing import Final, TypeAlias

from auditor.dataclass import dataclass
from auditor.fleet.estate import EstateSummary, RuleSum
from auditor.report.writer import Run
from auditor.rules.crosswalk import Crosswalk
from auditor.rules.result import Outcome
from auditor.scoring.assessment import CardAssessment

ControlName: TypeAlias = tuple[str, str]
"""Name of a crosswalk and identifier of a control in it."""


@dataclass(frozen=True, slots=True)
class ControlSum:
    """What the rules of one control say together.

    ``rules`` are those that serve the control and were not set aside, in the crosswalk's order. The first
    three numbers count single results; ``cards_failing`` counts cards that fail at least one of
    the rules; ``accepted`` counts findings of the rules that a deviation covers.
    """

    crosswalk: str
    control: str
    title: str
    rules: tuple[str, ...]
    passed: int
    failed: int
    unknown: int
    cards_failing: int
    accepted: int = 0


_NONE: Final[frozenset[ControlName]] = frozenset()


class ControlCards:
    """Counts the cards that fail a control, card by card; keeps no card."""

    def __init__(self, run: Run) -> None:
        """Start with no card."""
        self._controls = _controls_of_rules(run.crosswalks)
        self.failing: Counter[ControlName] = Counter()
        """Cards that fail at least one rule of a control."""
        self.accepted: Counter[ControlName] = Counter()
        """Findings of the rules of a control that a deviation covers."""

    def add(self, assessment: CardAssessment) -> None:
        """Add one card."""
        failed = {f.rule.id for f in assessment.findings if f.outcome is not Outcome.UNKNOWN}
        self.failing.update(_NONE.union(*[self._controls.get(rule, _NONE) for rule in failed]))
        if assessment.accepted_score is not None:
            covered = (found.rule.id for found in assessment.findings if found.deviation is not None)
            self.accepted.update(control for rule in covered for control in self._controls.get(rule, ()))


def control_sums(
    run: Run, summary: EstateSummary, cards: ControlCards | None = None
) -> tuple[ControlSum, ...]:
    """Return the sums of every control that a rule of the run serves, in the crosswalks' order.

    Without ``cards``, ``cards_failing`` is the greatest number of cards that fail one and the
    same rule of the control: at least so many fail it.
    """
    used = summary.whole.rules.keys() - run.program.tailoring.deselected.keys()
    return tuple(
        _control_sum(crosswalk, control, rules, summary.whole.rules, cards)
        for crosswalk in run.crosswalks
        for control, rules in _rules_of_controls(crosswalk, used).items()
    )


def _control_sum(
    crosswalk: Crosswalk,
    control: str,
    rules: tuple[str, ...],
    sums: Mapping[str, RuleSum],
    cards: ControlCards | None,
) -> ControlSum:
    found = [sums[rule] for rule in rules]
    at_least = max(each.cards_failing for each in found)
    return ControlSum(
        crosswalk.name,
        control,
        crosswalk.controls[control],
        rules,
        sum(each.passed for each in found),
        sum(each.failed for each in found),
        sum(each.unknown for each in found),
        at_least if cards is None else cards.failing[crosswalk.name, control],
        0 if cards is None else cards.accepted[crosswalk.name, control],
    )


def _rules_of_controls(crosswalk: Crosswalk, used: AbstractSet[str]) -> dict[str, tuple[str, ...]]:
    served: dict[str, list[str]] = {control: [] for control in crosswalk.controls}
    for rule, controls in crosswalk.rules.items():
        for control in controls if rule in used else ():
            served[control].append(rule)
    return {control: tuple(rules) for control, rules in served.items() if rules}


def _controls_of_rules(crosswalks: Iterable[Crosswalk]) -> dict[str, frozenset[ControlName]]:
    served: dict[str, set[ControlName]] = {}
    for crosswalk in crosswalks:
        for rule, controls in crosswalk.rules.items():
            served.setdefault(rule, set()).update((crosswalk.name, control) for control in controls)
    return {rule: frozenset(controls) for rule, controls in served.items()}
