"""Steps shared out over visits: what removes most risk a minute comes first, as far as the order lets it."""

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from auditor.dataclass import dataclass
from auditor.procedure.edit import APPEND, edited
from auditor.procedure.left_out import Reason, Refused
from auditor.procedure.order import Graph
from auditor.procedure.plan import CardPlan, first_unsafe
from auditor.procedure.step import Step
from auditor.procedure.timetable import Block, restarts_of, timetable
from auditor.record.settings import Settings

_LONGER: Final = "Agree on a window of {} min or more, or split the work with the site: --window."
_TOGETHER: Final = "Give the visit a longer window, so that another way in is opened at the same visit."


class Timing(NamedTuple):
    """Minutes that a visit takes besides its steps; common practice, no source.

    ``restart`` is how long a restart blinds monitoring. ``before`` and ``after`` are what is done
    at each card before the first step and after the last.
    """

    restart: int = 3
    before: int = 15
    after: int = 15


@dataclass(frozen=True, slots=True)
class Part:
    """What one visit does on one card; ``card`` is its place among the plans."""

    card: int
    blocks: tuple[Block, ...]
    minutes: int

    @property
    def restarts(self) -> int:
        """Return how often the card restarts."""
        return restarts_of(self.blocks)


@dataclass(frozen=True, slots=True)
class OneVisit:
    """One visit: its parts, in the order of the cards, and how long it takes."""

    parts: tuple[Part, ...]

    @property
    def minutes(self) -> int:
        """Return the minutes of the whole visit."""
        return sum(part.minutes for part in self.parts)

    @property
    def restarts(self) -> int:
        """Return how many restarts there are, all cards together."""
        return sum(part.restarts for part in self.parts)


@dataclass(frozen=True, slots=True)
class Shared:
    """Visits in their order, and by card what fits into none of them."""

    visits: tuple[OneVisit, ...]
    too_long: Mapping[int, tuple[Refused, ...]]


_Ids = dict[int, set[str]]


def share_out(plans: Sequence[CardPlan], timing: Timing, window: int | None) -> Shared:
    """Share the steps of some cards out over visits that fit a window; None is one visit for all.

    Each visit takes again and again what removes most risk a minute, together with what must
    come before it, as long as it fits. That is a good choice, not surely the best of all.
    """
    left: _Ids = {card: set(plan.graph.steps) for card, plan in enumerate(plans) if plan.graph.steps}
    settings = [plan.record.settings for plan in plans]
    tied = [_tied(plan) for plan in plans]
    visits: list[OneVisit] = []
    while left:
        chosen = left if window is None else _well_chosen(plans, tied, left, timing, window)
        chosen = {card: _safe(plans[card], ids, settings[card]) for card, ids in chosen.items()}
        chosen = {card: ids for card, ids in chosen.items() if ids}
        if not chosen:
            break
        visits.append(
            OneVisit(tuple(_part(card, plans[card], ids, timing) for card, ids in sorted(chosen.items())))
        )
        for card, ids in chosen.items():
            settings[card] = _after(plans[card], ids, settings[card])
        left = {c: rest for c, ids in left.items() if (rest := ids - chosen.get(c, set()))}
    too_long = {card: _too_long(plans[card], ids, timing, window or 0) for card, ids in left.items()}
    return Shared(tuple(visits), too_long)


def _tied(plan: CardPlan) -> Graph:
    """Return the graph of a plan in which steps that change one setting keep their order, too.

    Such a step enters the value that is right after those before it, at whatever visit.
    """
    writers: dict[tuple[str, ...], str] = {}
    edges: set[tuple[str, str]] = set()
    for name, done in plan.done.items():
        for edit in done.edits:
            for place in _places(edit.tokens):
                if (earlier := writers.get(place, name)) != name:
                    edges.add((earlier, name))
        writers.update((place, name) for edit in done.edits for place in _places(edit.tokens))
    return plan.graph.with_edges(edges)


def _places(tokens: tuple[str, ...]) -> tuple[tuple[str, ...], ...]:
    """Return a setting, and the list that it adds a member to: places are given out in order."""
    return (tokens, tokens[:-1]) if tokens[-1] == APPEND else (tokens,)


def _well_chosen(
    plans: Sequence[CardPlan], tied: Sequence[Graph], left: _Ids, timing: Timing, window: int
) -> _Ids:
    """Return what a visit does, without cards that it would begin for little and not finish."""
    open_now = left
    while hardly := _hardly_begun(
        plans, left, chosen := _chosen(plans, tied, open_now, timing, window), timing
    ):
        open_now = {card: ids for card, ids in open_now.items() if card not in hardly}
    return chosen


def _hardly_begun(plans: Sequence[CardPlan], left: _Ids, chosen: _Ids, timing: Timing) -> frozenset[int]:
    """Return the cards on which the steps take less than what is done before and after them.

    They are visited again anyway; one card is kept, where a visit would do nothing else.
    """
    found = [
        card
        for card, ids in sorted(chosen.items())
        if ids != left[card]
        and sum(plans[card].graph.steps[name].minutes for name in ids) < timing.before + timing.after
    ]
    return frozenset(found[1:] if len(found) == len(chosen) else found)


def _chosen(
    plans: Sequence[CardPlan], tied: Sequence[Graph], left: _Ids, timing: Timing, window: int
) -> _Ids:
    chosen: _Ids = {}
    spent = 0
    while True:
        best = max(
            (
                (risk / max(minutes, 1), -card, closure, minutes)
                for card, ids in left.items()
                for closure, risk, minutes in _choices(
                    plans[card].graph, tied[card], ids, chosen.get(card, set()), timing
                )
                if spent + minutes <= window
            ),
            key=lambda choice: (choice[0], choice[1], sorted(choice[2])),
            default=None,
        )
        if best is None:
            return chosen
        _, card, closure, minutes = best
        chosen.setdefault(-card, set()).update(closure)
        spent += minutes


def _choices(
    graph: Graph, tied: Graph, left: set[str], chosen: set[str], timing: Timing
) -> list[tuple[frozenset[str], float, int]]:
    """Return what may be taken next: a step with all before it, its risk, and its minutes."""
    now = _minutes(graph, chosen, timing)
    found = {frozenset(({name} | (tied.all_before(name) & left)) - chosen) for name in left - chosen}
    return [
        (
            closure,
            sum(graph.steps[name].risk for name in closure),
            _minutes(graph, chosen | closure, timing) - now,
        )
        for closure in found
    ]


def _minutes(graph: Graph, ids: set[str] | frozenset[str], timing: Timing) -> int:
    if not ids:
        return 0
    steps = [graph.steps[name] for name in ids]
    restarts = restarts_of(timetable(graph.only(ids))) if any(s.visit.restart for s in steps) else 0
    return timing.before + sum(step.minutes for step in steps) + restarts * timing.restart + timing.after


def _safe(plan: CardPlan, ids: set[str], settings: Settings) -> set[str]:
    """Return the steps that can be done without those left for later; the others wait with them."""
    kept = set(ids)
    while kept:
        graph = plan.graph.only(kept)
        steps = [step for block in timetable(graph) for step in block.steps]
        unsafe = first_unsafe(plan, steps, settings)
        if unsafe is None:
            break
        kept -= {unsafe.id} | graph.all_after(unsafe.id)
    return kept


def _part(card: int, plan: CardPlan, ids: set[str], timing: Timing) -> Part:
    return Part(card, timetable(plan.graph.only(ids)), _minutes(plan.graph, ids, timing))


def _after(plan: CardPlan, ids: set[str], settings: Settings) -> Settings:
    for block in timetable(plan.graph.only(ids)):
        for step in block.steps:
            settings = edited(settings, plan.done[step.id].edits)
    return settings


def _too_long(plan: CardPlan, ids: set[str], timing: Timing, window: int) -> tuple[Refused, ...]:
    steps = [plan.graph.steps[name] for name in plan.graph.steps if name in ids]
    return tuple(_refused(plan.graph, step, ids, timing, window) for step in steps)


def _refused(graph: Graph, step: Step, left: set[str], timing: Timing, window: int) -> Refused:
    """Say how long a window would have to be for a step, with all that must come before it."""
    first = graph.all_before(step.id) & left
    least = _minutes(graph, first | {step.id}, timing)
    if least <= window:
        return Refused(step, Reason.UNSAFE_PART, f"{least} min", _TOGETHER)
    others = f" and the {len(first)} before it" if len(first) > 1 else " and the one before it"
    detail = (
        f"this step{others if first else ''}, with {timing.before + timing.after} min before and after: "
        f"{least} min in all"
    )
    return Refused(step, Reason.TOO_LONG, detail, _LONGER.format(least))
