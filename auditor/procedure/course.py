"""What comes of the steps that visits do on a card: the settings then, and what became of each finding."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from auditor.dataclass import dataclass, field
from auditor.procedure.edit import edited
from auditor.procedure.judging import Judge, Key
from auditor.procedure.left_out import Reason, Refused, Remaining
from auditor.procedure.plan import CardPlan
from auditor.procedure.step import Step, key_of
from auditor.procedure.window import Shared
from auditor.record.settings import Settings
from auditor.scoring.assessment import CardAssessment, Finding


@dataclass(frozen=True, slots=True)
class Course:
    """What comes of the steps that visits do on a card, in their order.

    ``settings`` and ``after`` are the card then, which is less than its plan where the window
    leaves steps out. Every finding of the card stands once: under the step that mends it, in
    ``fallen`` by the id of the step after which it is gone though it asked for nothing, or in
    ``remaining``.
    """

    plan: CardPlan
    settings: Settings = field(repr=False)
    after: CardAssessment = field(repr=False)
    fallen: Mapping[str, tuple[Finding, ...]]
    remaining: tuple[Remaining, ...]

    @property
    def audited(self) -> frozenset[Key]:
        """Return the findings of the audit: steps mend what other steps bring about besides."""
        return frozenset(map(key_of, self.plan.before.findings))


def courses(plans: Sequence[CardPlan], shared: Shared) -> tuple[Course, ...]:
    """Return what comes of the visits on each card, in the order of the plans."""
    return tuple(
        _course(plan, list(_steps(card, shared)), shared.too_long.get(card, ()))
        for card, plan in enumerate(plans)
    )


def _steps(card: int, shared: Shared) -> Iterator[Step]:
    for visit in shared.visits:
        for part in visit.parts:
            if part.card == card:
                for block in part.blocks:
                    yield from block.steps


class _Moment(NamedTuple):
    """A step, and the settings that it finds."""

    step: Step
    before: Settings


def _course(plan: CardPlan, steps: Sequence[Step], too_long: Sequence[Refused]) -> Course:
    judge = Judge(plan.record, plan.before.program, plan.bench.context)
    settings, moments = plan.record.settings, list[_Moment]()
    for step in steps:
        moments.append(_Moment(step, settings))
        settings = edited(settings, plan.done[step.id].edits)
    after = judge.assessment(settings) if too_long else plan.after
    told = {key_of(finding) for step in steps for finding in step.findings}
    told.update(map(key_of, after.findings))
    gone = [finding for finding in plan.before.findings if key_of(finding) not in told]
    remaining = _remaining(plan, after, too_long) if too_long else plan.remaining
    return Course(plan, settings, after, dict(_fallen(gone, moments, judge)), tuple(remaining))


def _fallen(
    gone: Sequence[Finding], moments: Sequence[_Moment], judge: Judge
) -> Iterator[tuple[str, tuple[Finding, ...]]]:
    """Yield each step after which findings are gone for good, from the last step to the first."""
    left = list(gone)
    for step, before in reversed(moments):
        if not left:
            return
        found = judge.findings(before)
        if falling := tuple(finding for finding in left if key_of(finding) in found):
            yield step.id, falling
            left = [finding for finding in left if finding not in falling]


def _remaining(plan: CardPlan, after: CardAssessment, too_long: Sequence[Refused]) -> Iterator[Remaining]:
    """Yield what is still there where steps don't fit: what was to remain, what they would mend, the rest."""
    known = {key_of(each.finding): each for each in plan.remaining}
    waiting = {key_of(finding): left for left in too_long for finding in left.step.findings}
    for finding in after.findings:
        key = key_of(finding)
        if key in known:
            yield known[key]
        elif key in waiting:
            yield Remaining(finding, waiting[key].reason, waiting[key].instead)
        else:
            yield Remaining(finding, Reason.WAITS, too_long[0].instead)
