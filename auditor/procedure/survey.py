"""Which findings a card's steps can mend: computed by applying them and judging the outcome."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace

from auditor.procedure.bench import Bench
from auditor.procedure.edit import edited
from auditor.procedure.judging import Judge, Key
from auditor.procedure.left_out import Reason, Refused
from auditor.procedure.order import Graph, circular, graph_of
from auditor.procedure.step import Step, key_of, steps_of
from auditor.procedure.timetable import timetable
from auditor.record.settings import Settings
from auditor.scoring.assessment import Finding

_ROUNDS = 8
"""Rounds in which mends may bring about findings that are mended too; each round has fewer."""


@dataclass(frozen=True, slots=True)
class Survey:
    """Steps whose work is seen to remove findings, in a graph without circles.

    ``mended`` are the findings that are gone when all steps are done. ``unmended`` are those of
    the ``wanted`` that no step removes. ``after`` are the settings when all steps are done.
    """

    graph: Graph
    mended: frozenset[Key]
    unmended: tuple[Finding, ...]
    refused: tuple[Refused, ...]
    after: Settings


def survey(
    wanted: Sequence[Finding], before: frozenset[Key], judge: Judge, bench: Bench, *,
    extra: Sequence[Step] = (), edges: Iterable[tuple[str, str]] = (), left: Mapping[str, Refused],
) -> Survey:  # fmt: skip
    """Find the steps that mend the findings wanted; ``left`` are steps known to be left out.

    What the mends bring about besides is mended too, where a rule says how; a step that brings
    about what nothing mends is left out. ``before`` are all findings of the card.
    """
    refused = dict(left)
    consequences: dict[Key, Finding] = {}
    useless: set[Key] = set()
    pairs = tuple(edges)
    while True:
        steps = _steps(wanted, consequences.values(), useless, refused, extra)
        working = bench.also_mending(frozenset(rule for step in steps for rule in step.rule_ids))
        graph = graph_of(steps).with_edges(pairs)
        if circle := circular(graph):
            refused.update(_circle(graph, circle))
            consequences, useless = {}, set()
            continue
        after = applied(graph, judge.record.settings, working)
        found = judge.findings(after)
        if fresh := _fresh(found - before, steps, useless, judge, after):
            if len(consequences) + len(fresh) <= _ROUNDS * len(before | found):
                consequences.update(fresh)
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
        unmended = tuple(finding for finding in wanted if key_of(finding) in found)
        return Survey(graph, mended, unmended, tuple(refused.values()), after)


def applied(graph: Graph, settings: Settings, bench: Bench) -> Settings:
    """Return the settings when all steps are done, in their order."""
    for block in timetable(graph):
        for step in block.steps:
            settings = edited(settings, step.edits(settings, bench))
    return settings


def _steps(
    wanted: Sequence[Finding], consequences: Iterable[Finding], useless: set[Key],
    refused: Mapping[str, Refused], extra: Sequence[Step],
) -> tuple[Step, ...]:  # fmt: skip
    kept = [finding for finding in wanted if key_of(finding) not in useless]
    late = [finding for finding in consequences if key_of(finding) not in useless]
    return tuple(s for s in (*extra, *steps_of(kept, consequences=late)) if s.id not in refused)


def _fresh(
    new: frozenset[Key], steps: Sequence[Step], useless: set[Key], judge: Judge, after: Settings
) -> Mapping[Key, Finding]:
    """Return the new findings that no step has tried to mend yet."""
    tried = {key_of(finding) for step in steps for finding in step.findings} | useless
    if not new - tried:
        return {}
    return {key: finding for key, finding in judge.in_full(after).items() if key in new - tried}


def _circle(graph: Graph, circle: Sequence[str]) -> Mapping[str, Refused]:
    names = " → ".join((*circle, circle[0]))
    instead = (
        "Correct what the rules say of visits, or do these mends at separate visits, the most severe first, "
        "each proved before the next."
    )
    return {name: Refused(graph.steps[name], Reason.CIRCLE, names, instead) for name in circle}


def _culprit(graph: Graph, new: frozenset[Key], judge: Judge, bench: Bench) -> Refused:
    """Return the step without which a new finding does not come about; the last one, if several."""
    for name in reversed(graph.steps):
        rest = graph.only(other for other in graph.steps if other != name)
        if not new <= judge.findings(applied(rest, judge.record.settings, bench)):
            return _bringing(graph.steps[name], new)
    return _bringing(graph.steps[next(reversed(graph.steps))], new)


def _bringing(step: Step, new: frozenset[Key]) -> Refused:
    rules = ", ".join(sorted({f"{rule} at {place}" if place else rule for rule, place in new}))
    instead = "Read off what this mend needs to know, or decide it with the site, and run the procedure again."
    return Refused(step, Reason.NEW_FINDING, rules, instead)
