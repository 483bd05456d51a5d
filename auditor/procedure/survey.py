"""Which findings a card's steps can mend: computed by applying them and judging the outcome."""

from collections.abc import Mapping, Sequence
from typing import Final

from auditor.dataclass import dataclass, field, replace
from auditor.procedure.bench import Bench
from auditor.procedure.edit import EditKind, edited
from auditor.procedure.judging import Judge, Key
from auditor.procedure.left_out import Reason, Refused
from auditor.procedure.order import Graph, circular, graph_of
from auditor.procedure.step import Step, key_of, steps_of
from auditor.procedure.timetable import timetable
from auditor.record.settings import Settings
from auditor.scoring.assessment import Finding


@dataclass(frozen=True, slots=True)
class Survey:
    """Steps whose work is seen to remove findings, in a graph without circles.

    ``mended`` are the findings that are gone when all steps are done, and ``after`` are the
    settings then.
    """

    graph: Graph
    mended: frozenset[Key]
    refused: tuple[Refused, ...]
    after: Settings


@dataclass(frozen=True, slots=True)
class Changes:
    """What is known of the steps from earlier surveys of the same card.

    ``left`` are steps to be left out, by id. ``absorbed`` are those whose findings other steps
    mend. ``extra`` are steps that open another way in; ``edges`` are more pairs of earlier and
    later.
    """

    left: Mapping[str, Refused] = field(default_factory=dict)
    absorbed: frozenset[str] = frozenset()
    extra: Mapping[str, Step] = field(default_factory=dict)
    edges: frozenset[tuple[str, str]] = frozenset()


def survey(
    wanted: Sequence[Finding], before: frozenset[Key], judge: Judge, bench: Bench, *,
    changes: Changes,
) -> Survey:  # fmt: skip
    """Find the steps that mend the findings wanted.

    What the mends bring about besides is mended too, where a rule says how; a step that brings
    about what nothing mends is left out. ``before`` are all findings of the card.
    """
    refused = dict(changes.left)
    consequences: dict[Key, Finding] = {}
    useless: set[Key] = set()
    while True:
        gone = useless | {key_of(finding) for left in refused.values() for finding in left.step.findings}
        kept = [finding for finding in wanted if key_of(finding) not in gone]
        late = [finding for key, finding in consequences.items() if key not in gone]
        all_steps = (*changes.extra.values(), *steps_of(kept, consequences=late))
        steps = [step for step in all_steps if step.id not in refused and step.id not in changes.absorbed]
        working = bench.also_mending(frozenset(rule for step in steps for rule in step.rule_ids))
        graph = graph_of(steps).with_edges(changes.edges)
        if circle := circular(graph):
            refused.update(_circle(graph, circle))
            consequences, useless = {}, set()
            continue
        after = applied(graph, judge.record.settings, working)
        found = judge.findings(after)
        if fresh := found - before - consequences.keys() - useless:
            in_full = judge.in_full(after)
            consequences.update({key: in_full[key] for key in sorted(fresh)})
            continue
        if left_over := {key_of(f) for step in steps for f in step.findings} & found:
            useless |= left_over
            consequences = {key: f for key, f in consequences.items() if key not in left_over}
            continue
        if found - before:
            culprit = _culprit(graph, found - before, judge, working)
            refused[culprit.step.id] = culprit
            consequences, useless = {}, set()
            continue
        mended = (frozenset(key_of(finding) for finding in wanted) | consequences.keys()) - found
        return Survey(graph, mended, tuple(refused.values()), after)


def applied(graph: Graph, settings: Settings, bench: Bench) -> Settings:
    """Return the settings when all steps are done, in their order."""
    for block in timetable(graph):
        for step in block.steps:
            settings = edited(settings, step.edits(settings, bench))
    return settings


def _circle(graph: Graph, circle: Sequence[str]) -> Mapping[str, Refused]:
    names = " → ".join((*circle, circle[0]))
    instead = (
        "Correct what the rules say of visits, or do these mends at separate visits, the most severe first, "
        "each proved before the next."
    )
    return {name: Refused(graph.steps[name], Reason.CIRCLE, names, instead) for name in circle}


def _culprit(graph: Graph, new: frozenset[Key], judge: Judge, bench: Bench) -> Refused:
    """Return the step, or the part of one, without which a new finding does not come about.

    Where several steps together bring it about, as when too little is known afterwards, that is
    one whose values only the site knows, the least severe first.
    """
    on_card = frozenset(key for key in new if not _judges_evidence(key, judge)) or new
    suspects = _suspects(graph, judge, bench)
    step = next(
        (each for each in suspects if not on_card <= _found_with(graph, each, (), judge, bench)), None
    )
    if step is None:
        return _bringing(suspects[0], on_card, judge, bench)
    return _bringing(_harmful(graph, step, on_card, judge, bench), on_card, judge, bench)


def _harmful(graph: Graph, step: Step, new: frozenset[Key], judge: Judge, bench: Bench) -> Step:
    """Return the part of a step that has to be left out; the rest, worst first, can stay."""
    kept: tuple[Finding, ...] = ()
    for finding in step.findings:
        if not new <= _found_with(graph, step, (*kept, finding), judge, bench):
            kept = (*kept, finding)
    if not kept:
        return step
    left = tuple(finding for finding in step.findings if finding not in kept)
    return replace(step, id=" ".join((step.id, *(finding.rule.id for finding in left))), findings=left)


def _found_with(
    graph: Graph, step: Step, findings: tuple[Finding, ...], judge: Judge, bench: Bench
) -> frozenset[Key]:
    """Return what is found when all steps are done, one of them for some of its findings only."""
    part = {step.id: replace(step, findings=findings)} if findings else {}
    names = [name for name in graph.steps if name != step.id or findings]
    rest = Graph({**graph.only(names).steps, **part}, graph.only(names).before)
    return judge.findings(applied(rest, judge.record.settings, bench))


def _judges_evidence(key: Key, judge: Judge) -> bool:
    return any(rule.id == key[0] and rule.judges_evidence for rule in judge.program.rules)


def _suspects(graph: Graph, judge: Judge, bench: Bench) -> list[Step]:
    """Return the steps in the order in which they are suspected."""
    asking = {step.id for step in graph.steps.values() if _asks(step, judge.record.settings, bench)}
    return sorted(graph.steps.values(), key=lambda step: (step.id not in asking, step.severity))


def _asks(step: Step, settings: Settings, bench: Bench) -> bool:
    return any(edit.kind is EditKind.ASKED for edit in step.edits(settings, bench))


def _bringing(step: Step, new: frozenset[Key], judge: Judge, bench: Bench) -> Refused:
    rules = ", ".join(sorted({f"{rule} at {place}" if place else rule for rule, place in new}))
    if _asks(step, judge.record.settings, bench):
        return Refused(step, Reason.SITES_VALUE, rules, _SETTLE)
    return Refused(step, Reason.NEW_FINDING, rules, _DECIDE)


_SETTLE: Final = (
    "Settle the value with the site, enter it at a visit of its own with the way back ready, export the "
    "settings again, and run the procedure anew: it goes on from there."
)
_DECIDE: Final = "Read off what is missing, or decide it with the site, and run the procedure again."
