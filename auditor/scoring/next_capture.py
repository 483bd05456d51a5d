"""What to capture next: the settings that would decide the most, by what hangs on them."""

from collections.abc import Iterable
from decimal import Decimal

from auditor.dataclass import dataclass
from auditor.record.pointer import join, split
from auditor.rules.rule import Rule
from auditor.scoring.assessment import Finding, Missing
from auditor.scoring.ccss import base_score


@dataclass(frozen=True, slots=True)
class CaptureStep:
    """A setting that is not known, and the rules that wait for it.

    In ``pointer`` a ``*`` stands for any member of a list. ``weight`` is the sum of the rules'
    CCSS base scores; ``rules`` are their ids, the weightiest first.
    """

    pointer: str
    rules: tuple[str, ...]
    weight: Decimal


def what_to_capture_next(undecided: Iterable[Missing | Finding]) -> tuple[CaptureStep, ...]:
    """Return the settings that undecided results wait for: those that decide most first.

    Order is by the sum of severities that hang on a setting, then by the number of rules, then
    by pointer. A rule counts once a setting, however many members of a list it waits for.
    """
    waiting: dict[str, dict[str, Rule]] = {}
    for result in undecided:
        for evidence in result.evidence:
            if evidence.pointer:
                waiting.setdefault(_any_member(evidence.pointer), {})[result.rule.id] = result.rule
    steps = (_step(pointer, rules) for pointer, rules in waiting.items())
    return tuple(sorted(steps, key=lambda step: (-step.weight, -len(step.rules), step.pointer)))


def _step(pointer: str, rules: dict[str, Rule]) -> CaptureStep:
    weights = {name: base_score(rule.vector).score for name, rule in rules.items()}
    ordered = sorted(weights, key=lambda name: (-weights[name], name))
    return CaptureStep(pointer, tuple(ordered), sum(weights.values(), Decimal(0)))


def _any_member(pointer: str) -> str:
    return join("*" if token.isdecimal() else token for token in split(pointer))
