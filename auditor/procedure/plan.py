"""The plan of one card: steps that mend its findings and leave an administrator a way in throughout."""

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

from auditor.dataclass import dataclass, field, replace
from auditor.facts.fact import Context
from auditor.procedure.bench import Bench
from auditor.procedure.edit import Edit, edited
from auditor.procedure.judging import Judge, Key
from auditor.procedure.left_out import Reason, Refused, Remaining
from auditor.procedure.order import Graph
from auditor.procedure.step import NO_VISIT, Step, accepting, key_of, opening_step
from auditor.procedure.survey import Changes, Survey, applied, survey
from auditor.procedure.timetable import Block, timetable
from auditor.procedure.way_in import (
    WayIn,
    WaysIn,
    is_open_beside,
    is_over_network,
    keeps_a_way,
    touches_ways,
    way_to_prove,
    ways_in,
)
from auditor.record.pointer import split
from auditor.record.reading import Record
from auditor.record.settings import Settings
from auditor.rules.program import Program
from auditor.rules.result import Outcome
from auditor.rules.rule import Visit
from auditor.scoring.assessment import CardAssessment, Finding, context_of
from auditor.scoring.deviation import Deviation

_INSTEAD = (
    "Open another way in first, at the serial console if need be: turn HTTPS or SSH on, or make a second "
    "administrator's account. Prove it with a login, export the settings again, and run the procedure anew."
)
_ELSEWHERE = (
    "Work from an address that the card lets in, or at the serial console, and say so (--from); or capture "
    "what the record leaves open of filters, services and accounts."
)
_BY_DIRECTORY = (
    "No record tells who is an administrator by a group of the directory. Find out that one is, and gets in; "
    "then make this change by hand with that session open, and try such a login anew before it is closed."
)
_WAYS_TOLD = 4
_CAPTURE = (
    "Read off services, accounts and the serial console first (witnessmark worksheet), so that a way in is "
    "known, and run the procedure anew."
)


@dataclass(frozen=True, slots=True)
class Done:
    """A step as it is done: its changes, and the ways in that an administrator has before and after it.

    ``needed`` are the findings that ask for the changes, the first leading: the others of the
    step are gone with them. ``before`` are the settings that it finds.
    """

    step: Step
    edits: tuple[Edit, ...]
    needed: tuple[Finding, ...]
    before: Settings = field(repr=False)
    ways_before: tuple[WayIn, ...] = ()
    ways: tuple[WayIn, ...] = ()

    @property
    def prove(self) -> WayIn | None:
        """Return the way in to prove before the step, where it could close one."""
        if not self.step.visit.cuts_access:
            return None
        return way_to_prove(self.ways_before, self.ways, self.step.visit.needs)


@dataclass(frozen=True, slots=True)
class CardPlan:
    """What is to be done on one card.

    ``blocks`` hold all steps in their order, as if one visit did them all; ``done`` tells of
    each what it changes. ``before`` and ``after`` are the assessments of the card as it is and as
    it would be; ``after_settings`` is the after-image. ``ways`` are the ways in at the
    start, where something is to be mended.
    """

    record: Record = field(repr=False)
    bench: Bench = field(repr=False)
    before: CardAssessment = field(repr=False)
    after: CardAssessment = field(repr=False)
    after_settings: Settings = field(repr=False)
    graph: Graph
    blocks: tuple[Block, ...]
    done: Mapping[str, Done]
    mended: frozenset[Key]
    refused: tuple[Refused, ...]
    remaining: tuple[Remaining, ...]
    ways: tuple[WayIn, ...]


class Asked(NamedTuple):
    """What a procedure is asked for.

    ``findings`` are the findings to mend, by card, rule and member; None for all. ``accepted``
    are those that a deviation covers, with it: they are not mended.
    ``own_address`` is the address that the technician works from, or empty.
    """

    own_address: str = ""
    findings: frozenset[tuple[str, str, str]] | None = None
    accepted: Mapping[tuple[str, str, str], Deviation] = MappingProxyType({})


def plan_card(record: Record, program: Program, context: Context, asked: Asked) -> CardPlan:
    """Return the plan of a card; it changes nothing of the record."""
    here = context_of(record, context)
    judge = Judge(record, program, here)
    before = judge.assessment(record.settings)
    bench = Bench(
        record.card_id,
        here,
        program.parameters,
        program.facts,
        asked.own_address,
        accepted=_accepted_settings(before, asked),
    )
    ways = ways_in(here, asked.own_address)
    wanted = [
        finding
        for finding in before.findings
        if _set_aside(finding, record.card_id, asked) is None and not _is_to_be_read_first(finding)
    ]
    found, done = _safe(wanted, frozenset(map(key_of, before.findings)), judge, bench, ways)
    after = judge.assessment(found.after) if done else before
    return CardPlan(
        record,
        bench,
        before,
        after,
        found.after,
        found.graph,
        timetable(found.graph),
        {each.step.id: each for each in done},
        found.mended,
        found.refused,
        tuple(_remaining(before, after, found, bench, asked)),
        ways(record.settings) if wanted else (),
    )


def _accepted_settings(before: CardAssessment, asked: Asked) -> Mapping[tuple[str, ...], Deviation]:
    """Return the settings that findings rest on which a deviation covers: no step changes them."""
    return {
        split(seen.pointer): asked.accepted[key]
        for finding in before.findings
        if (key := (before.card.id, *key_of(finding))) in asked.accepted
        for seen in finding.evidence
        if seen.pointer
    }


def replayed(graph: Graph, settings: Settings, bench: Bench, ways: WaysIn) -> tuple[list[Done], Done | None]:
    """Do the steps one at a time; return those done, and the first that would close the last way in.

    A step that knows how to open another way is stopped already where it would close the last
    over the network, unless that other way was opened before it.
    """
    done: list[Done] = []
    open_now = ways(settings)
    working = bench.also_mending(frozenset(rule for step in graph.steps.values() for rule in step.rule_ids))
    for step in (step for block in timetable(graph) for step in block.steps):
        work = step.work_on(settings, working)
        after = edited(settings, work.edits)
        open_then = ways(after) if touches_ways(work.edits) else open_now
        this = Done(step, work.edits, work.needed, settings, open_now, open_then)
        if not _is_safe(step, open_now, open_then, has_opened=_has_opened(step, graph)):
            return done, this
        done.append(this)
        settings, open_now = after, open_then
    return done, None


def first_unsafe(plan: CardPlan, steps: Iterable[Step], settings: Settings) -> Step | None:
    """Return the first of some steps of a plan, done as planned, that would close the last way in."""
    ways = ways_in(plan.bench.context, plan.bench.own_address)
    open_now = ways(settings)
    for step in steps:
        edits = plan.done[step.id].edits
        settings = edited(settings, edits)
        open_then = ways(settings) if touches_ways(edits) else open_now
        if not _is_safe(step, open_now, open_then, has_opened=_has_opened(step, plan.graph)):
            return step
        open_now = open_then
    return None


def _has_opened(step: Step, graph: Graph) -> bool:
    return step.visit.opens_first in graph.before[step.id]


def _is_safe(step: Step, before: tuple[WayIn, ...], after: tuple[WayIn, ...], *, has_opened: bool) -> bool:
    if not before:
        return bool(after) or not step.visit.cuts_access
    if step.visit.opens_first and not has_opened and is_over_network(before) > is_over_network(after):
        return False
    return keeps_a_way(before, after)


def _safe(
    wanted: Sequence[Finding], before: frozenset[Key], judge: Judge, bench: Bench, ways: WaysIn
) -> tuple[Survey, list[Done]]:
    """Survey and replay until every step leaves a way in; each round leaves out or adds something."""
    if not wanted:
        return Survey(Graph({}, {}), frozenset(), (), judge.record.settings), []
    changes = Changes()
    start = ways(judge.record.settings), bench.own_address
    while True:
        found = survey(wanted, before, judge, bench, changes=changes)
        if waiting := _waiting(found):
            told = {refused.step.id: refused for refused in found.refused}
            changes = replace(changes, left={**changes.left, **told, **waiting})
            continue
        done, unsafe = replayed(found.graph, judge.record.settings, bench, ways)
        if unsafe is not None:
            changes = _safer(changes, unsafe, found, done, start)
        elif spare := _spare(found, done, judge, bench):
            changes = replace(changes, absorbed=changes.absorbed | spare)
        else:
            return found, done


def _safer(
    changes: Changes, closing: Done, found: Survey, done: Sequence[Done],
    start: tuple[tuple[WayIn, ...], str],
) -> Changes:  # fmt: skip
    """Open another way first, or let others come first that may open one, or leave the step out."""
    unsafe = closing.step
    recipe = unsafe.visit.opens_first
    if recipe and (recipe, unsafe.id) not in changes.edges:
        opening = changes.extra.get(recipe) or opening_step(recipe, _opening_visit(unsafe))
        edges = changes.edges | {(recipe, unsafe.id)}
        return replace(changes, extra={**changes.extra, recipe: opening}, edges=edges)
    later = {(name, unsafe.id) for name in _openers(found.graph, unsafe, done)} - changes.edges
    if later:
        return replace(changes, edges=changes.edges | later)
    left = {**changes.left, unsafe.id: _refusal(closing, *start)}
    serving = {earlier for earlier, later_id in changes.edges if later_id not in left}
    extra = {name: step for name, step in changes.extra.items() if name in serving}
    return replace(changes, left=left, extra=extra)


def _spare(found: Survey, done: Sequence[Done], judge: Judge, bench: Bench) -> frozenset[str]:
    """Return steps that are not needed: they change or open nothing, or touch the output for nothing."""
    idle = frozenset(
        each.step.id
        for each in done
        if not each.edits or (each.step.recipes and each.ways == each.ways_before)
    )
    if idle:
        return idle
    working = bench.also_mending(frozenset(rule for each in done for rule in each.step.rule_ids))
    now = judge.findings(found.after)
    for step in found.graph.steps.values():
        if step.visit.output_risk:
            rest = found.graph.only(name for name in found.graph.steps if name != step.id)
            if judge.findings(applied(rest, judge.record.settings, working)) <= now:
                return frozenset((step.id,))
    return frozenset()


def _opening_visit(closing: Step) -> Visit:
    return Visit(minutes=10, provides=closing.visit.needs)


def _openers(graph: Graph, closing: Step, done: Sequence[Done]) -> frozenset[str]:
    """Return the steps not done yet that may come before one that closes a way, as one may open another."""
    waiting = graph.steps.keys() - {each.step.id for each in done} - {closing.id}
    last = {name for name in waiting if graph.steps[name].visit.is_last and not closing.visit.is_last}
    return frozenset(waiting - last) - graph.all_after(closing.id)


def _refusal(closing: Done, ways: tuple[WayIn, ...], own_address: str) -> Refused:
    step = closing.step
    if ways:
        told = "; ".join(map(str, ways[:_WAYS_TOLD]))
        if closing.ways and not any(map(is_open_beside, closing.ways)):
            return Refused(
                step,
                Reason.LAST_WAY,
                f"while the directory answers; at the start open: {told}",
                _BY_DIRECTORY,
            )
        return Refused(step, Reason.LAST_WAY, f"at the start open: {told}", _INSTEAD)
    if own_address:
        return Refused(step, Reason.NO_WAY, f"the record shows none from {own_address}", _ELSEWHERE)
    return Refused(step, Reason.NO_WAY, "the record shows none", _CAPTURE)


def _waiting(found: Survey) -> Mapping[str, Refused]:
    """Return the steps that must not be done because what they wait for is left out.

    That is so where a rule names another's mend, and where what is to be made ready first is
    left out and the step could close a way in.
    """
    gone = [refused.step for refused in found.refused]
    return {
        step.id: Refused(step, Reason.WAITS, earlier.id, "Mend that first; then run the procedure anew.")
        for step in found.graph.steps.values()
        for earlier in gone
        if not earlier.rule_ids.isdisjoint(step.visit.after)
        or (step.visit.cuts_access and not set(earlier.visit.provides).isdisjoint(step.visit.needs))
    }


def _is_to_be_read_first(finding: Finding) -> bool:
    """Return whether nobody can tell that there is anything to mend, and the mend would be a risk."""
    visit = finding.rule.visit or NO_VISIT
    return finding.outcome is Outcome.UNKNOWN and (visit.output_risk or visit.cuts_access)


def _remaining(
    before: CardAssessment, after: CardAssessment, found: Survey, bench: Bench, asked: Asked
) -> list[Remaining]:
    """Return the findings that are still there after all steps, first what was to be mended."""
    refused = {key_of(finding): each for each in found.refused for finding in each.step.findings}
    still = {key_of(finding) for finding in after.findings}
    tried: list[Remaining] = []
    aside: list[Remaining] = []
    for finding in before.findings:
        if key_of(finding) in still:
            if left := _set_aside(finding, bench.card_id, asked):
                aside.append(left)
            else:
                tried.append(_why(finding, refused, found.after, bench))
    return [*tried, *aside]


def _set_aside(finding: Finding, card_id: str, asked: Asked) -> Remaining | None:
    """Return why a finding is not to be mended at all, None where it is."""
    key = (card_id, *key_of(finding))
    if key in asked.accepted:
        return Remaining(finding, Reason.ACCEPTED, _until(asked.accepted[key]))
    if asked.findings is not None and key not in asked.findings:
        return Remaining(finding, Reason.NOT_ASKED, "Mend it at another visit.")
    return None


def _until(deviation: Deviation) -> str:
    ticket = f" (ticket {deviation.ticket})" if deviation.ticket else ""
    return f"Nothing until {deviation.expires}: {deviation.owner} answers for it{ticket}."


def _why(finding: Finding, refused: Mapping[Key, Refused], settings: Settings, bench: Bench) -> Remaining:
    if key_of(finding) in refused:
        left = refused[key_of(finding)]
        return Remaining(finding, left.reason, left.instead)
    if deviation := accepting(finding, settings, bench):
        return Remaining(finding, Reason.RESTS_ON_ACCEPTED, f"{_until(deviation)} See {deviation.rule}.")
    return _not_mended(finding, bench)


def _not_mended(finding: Finding, bench: Bench) -> Remaining:
    rule = finding.rule
    if rule.mend.recipe.startswith("narrow") and not bench.own_address:
        return Remaining(finding, Reason.NO_ADDRESS, "Say it with --from ADDRESS.")
    if finding.outcome is Outcome.UNKNOWN:
        return Remaining(finding, Reason.NOT_CAPTURED, rule.mend.text)
    if (rule.visit or NO_VISIT).at_desk:
        return Remaining(finding, Reason.DESK, rule.mend.text)
    if rule.mend.asks:
        return Remaining(finding, Reason.SITES_VALUE, rule.mend.text)
    return Remaining(finding, Reason.NOT_MENDED, rule.mend.text)
