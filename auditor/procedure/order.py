"""What must come before what among the steps of a card; draws no timetable."""

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from auditor.dataclass import dataclass
from auditor.procedure.step import Step

_SECTIONS: Final = (
    "card", "network", "time", "maintenance", "accounts", "access_policy", "tls", "ssh", "services",
    "snmp", "log", "mail", "directory", "probe", "shutdown", "equipment", "capture",
)  # fmt: skip
"""Where no dependency decides, pages are visited in this order; common practice, no source."""


@dataclass(frozen=True, slots=True)
class Graph:
    """Steps, and for each the ids of those that come before it; both in a stable order."""

    steps: Mapping[str, Step]
    before: Mapping[str, frozenset[str]]

    def only(self, ids: Iterable[str]) -> "Graph":
        """Return the part of the graph with some of its steps."""
        kept = set(ids)
        return Graph(
            {name: step for name, step in self.steps.items() if name in kept},
            {name: earlier & kept for name, earlier in self.before.items() if name in kept},
        )

    def with_edges(self, edges: Iterable[tuple[str, str]]) -> "Graph":
        """Return the graph with more pairs of earlier and later; steps that are gone are passed over."""
        before = dict(self.before)
        for earlier, later in edges:
            if earlier in self.steps and later in self.steps:
                before[later] = before[later] | {earlier}
        return Graph(self.steps, before)

    def all_before(self, name: str) -> frozenset[str]:
        """Return all that must be done before a step, directly or not."""
        found: set[str] = set()
        waiting = list(self.before[name])
        while waiting:
            earlier = waiting.pop()
            if earlier not in found:
                found.add(earlier)
                waiting.extend(self.before[earlier])
        return frozenset(found)

    def all_after(self, name: str) -> frozenset[str]:
        """Return all that must wait for a step, directly or not."""
        return frozenset(other for other in self.steps if name in self.all_before(other))


def graph_of(steps: Sequence[Step]) -> Graph:
    """Return the graph of some steps, from what their rules say of visits.

    A step comes before another if a rule of the other names one of its rules, if it provides
    what the other needs, or if only the other is to be last. No step waits for itself, and what
    rules say of each other does not hold between two members of one list.
    """
    ranked = sorted(steps, key=_rank)
    by_rule, by_word = _index(ranked)
    ordered = frozenset(step.id for step in ranked if step.is_ordered)
    not_last = frozenset(step.id for step in ranked if step.is_ordered and not step.visit.is_last)
    before: dict[str, frozenset[str]] = {}
    for later in ranked:
        named = {one.id for rule in later.visit.after for one in by_rule[rule] if not _is_beside(one, later)}
        ready = {one for word in later.visit.needs for one in by_word[word]}
        behind = (not_last if later.visit.is_last else _NONE) | (_NONE if later.is_ordered else ordered)
        before[later.id] = frozenset((named | ready | behind) - {later.id})
    return Graph({step.id: step for step in ranked}, before)


_NONE: Final[frozenset[str]] = frozenset()


def _index(steps: Iterable[Step]) -> tuple[Mapping[str, list[Step]], Mapping[str, list[str]]]:
    """Return the steps by the rules whose findings they mend, and their ids by what they make ready."""
    by_rule: defaultdict[str, list[Step]] = defaultdict(list)
    by_word: defaultdict[str, list[str]] = defaultdict(list)
    for step in steps:
        for rule in step.rule_ids:
            by_rule[rule].append(step)
        for word in step.visit.provides:
            by_word[word].append(step.id)
    return by_rule, by_word


def _is_beside(one: Step, other: Step) -> bool:
    """Return whether two steps are about different members of one list."""
    return one.member != other.member and one.member[:-1] == other.member[:-1] != ()


def circular(graph: Graph) -> tuple[str, ...]:
    """Return the steps that wait for each other in a circle, in the graph's order; none is the rule."""
    left = _trimmed(graph.before)
    after: dict[str, set[str]] = {name: set() for name in left}
    for later, earlier in left.items():
        for name in earlier:
            after[name].add(later)
    rest = _trimmed(after)
    return tuple(name for name in graph.steps if name in rest)


def _trimmed(waits: Mapping[str, Iterable[str]]) -> dict[str, set[str]]:
    """Return what is left when all is taken away that waits for nothing that is left."""
    left = {name: set(earlier) for name, earlier in waits.items()}
    while free := [name for name, earlier in left.items() if not earlier]:
        for name in free:
            del left[name]
        for earlier in left.values():
            earlier.difference_update(free)
    return left


def _rank(step: Step) -> tuple[bool, int, float, str]:
    return (not step.is_ordered, _section_rank(step), -step.severity, step.id)


def _section_rank(step: Step) -> int:
    section = section_of(step)
    return _SECTIONS.index(section) if section in _SECTIONS else len(_SECTIONS)


def section_of(step: Step) -> str:
    """Return the section of the record that a step is mostly about; empty if none can be told."""
    if step.member:
        return step.member[0]
    for finding in step.findings:
        mend = finding.rule.mend
        for pointer in (
            *(c.pointer for c in (*mend.settings, *mend.new_secrets)),
            *(a.pointer for a in mend.asks),
        ):
            return _section(pointer)
    return next((_section(finding.pointer) for finding in step.findings if finding.pointer), "")


def _section(pointer: str) -> str:
    return "time" if pointer in _CLOCKS else pointer.split("/")[1]


_CLOCKS: Final = ("/capture/card_clock", "/capture/reference_clock")
"""What a capture says of the clock is put right where the card keeps its time."""
