"""Steps shared out over visits: what removes most risk a minute comes first, as far as the order lets it."""

from collections.abc import Mapping, Sequence
from typing import Final, NamedTuple

from auditor.dataclass import dataclass
from auditor.procedure.edit import edited
from auditor.procedure.left_out import Reason, Refused
from auditor.procedure.order import Graph
from auditor.procedure.plan import CardPlan, replayed
from auditor.procedure.timetable import Block, restarts_of, timetable
from auditor.procedure.way_in import ways_in
from auditor.record.settings import Settings

_LONGER: Final = "Give the visit a longer window, or do this step at a visit of its own."


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
    visits: list[OneVisit] = []
    while left:
        chosen = left if window is None else _chosen(plans, left, timing, window)
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
    return Shared(tuple(visits), {card: _too_long(plans[card], ids) for card, ids in left.items()})


def _chosen(plans: Sequence[CardPlan], left: _Ids, timing: Timing, window: int) -> _Ids:
    chosen: _Ids = {}
    spent = 0
    while True:
        best = max(
            (
                (risk / max(minutes, 1), -card, closure, minutes)
                for card, ids in left.items()
                for closure, risk, minutes in _choices(
                    plans[card].graph, ids, chosen.get(card, set()), timing
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
    graph: Graph, left: set[str], chosen: set[str], timing: Timing
) -> list[tuple[frozenset[str], float, int]]:
    """Return what may be taken next: a step with all before it, its risk, and its minutes."""
    now = _minutes(graph, chosen, timing)
    found = {frozenset(({name} | (graph.all_before(name) & left)) - chosen) for name in left - chosen}
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
        _, unsafe = replayed(graph, settings, plan.bench, ways_in(plan.bench.context, plan.bench.own_address))
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


def _too_long(plan: CardPlan, ids: set[str]) -> tuple[Refused, ...]:
    steps = [plan.graph.steps[name] for name in plan.graph.steps if name in ids]
    return tuple(Refused(step, Reason.TOO_LONG, f"{step.minutes} min", _LONGER) for step in steps)
