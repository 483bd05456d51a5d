"""Blocks of steps: every order is kept, what touches the output stands apart, and restarts are few."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.procedure.order import Graph
from auditor.procedure.step import Step
from auditor.procedure.timetable import BlockKind, restarts_of, timetable
from auditor.rules.rule import Visit
from tests.procedure.exhaustive import fewest_restarts, only_restarts

SIZE = 7


@st.composite
def graphs(draw: st.DrawFn) -> Graph:
    """Draw a small graph without circles; a step may need a restart and may touch the output."""
    size = draw(st.integers(0, SIZE))
    steps = {
        f"s{n}": Step(
            f"s{n}", f"s{n}", (), (), visit=Visit(restart=draw(st.booleans()), output_risk=draw(risks))
        )
        for n in range(size)
    }
    pairs = [(a, b) for a, b in combinations(steps, 2) if draw(st.booleans())]
    return Graph(steps, {later: frozenset(a for a, b in pairs if b == later) for later in steps})


def _step(name: str, *, restart: bool, output_risk: bool) -> Step:
    return Step(name, name, (), (), visit=Visit(restart=restart, output_risk=output_risk))


risks = st.sampled_from([False, False, False, True])


@given(graphs())
def test_no_order_of_a_small_graph_has_fewer_restarts(graph: Graph) -> None:
    """The same number as an exhaustive search finds, over all orders and all batches."""
    assert restarts_of(timetable(graph)) == fewest_restarts(graph)


@given(graphs())
def test_steps_without_a_restart_change_nothing_about_their_number(graph: Graph) -> None:
    """What whole plans are compared by: a search over the steps that restart alone."""
    assert fewest_restarts(only_restarts(graph)) == fewest_restarts(graph)


@given(graphs())
def test_every_step_stands_once_and_after_all_that_come_before_it(graph: Graph) -> None:
    """What waits for a step with a restart stands behind that restart."""
    done: set[str] = set()
    for block in timetable(graph):
        together = {step.id for step in block.steps}
        for step in block.steps:
            allowed = done if block.kind is BlockKind.BATCH else done | together
            assert graph.before[step.id] <= allowed
        assert done.isdisjoint(together)
        done |= together
    assert done == set(graph.steps)


@given(graphs())
def test_what_touches_the_output_stands_alone(graph: Graph) -> None:
    """Never inside a batch, and never beside another step."""
    for block in timetable(graph):
        risky = [step for step in block.steps if step.visit.output_risk]
        assert not risky or (block.kind is BlockKind.OUTPUT and len(block.steps) == 1)


def test_what_touches_the_output_comes_last_where_nothing_waits_for_it() -> None:
    """Whatever its name: the restart that others share is behind it before it is begun."""
    steps = {
        "a": _step("a", restart=False, output_risk=True),
        "b": _step("b", restart=True, output_risk=False),
        "c": _step("c", restart=False, output_risk=False),
    }
    blocks = timetable(Graph(steps, dict.fromkeys(steps, frozenset())))
    assert [step.id for block in blocks for step in block.steps] == ["c", "b", "a"]
    first = timetable(Graph(steps, {"a": frozenset(), "b": frozenset(("a",)), "c": frozenset()}))
    assert [step.id for block in first for step in block.steps] == ["c", "a", "b"]


def test_what_is_done_at_the_desk_comes_first() -> None:
    """Before anybody leaves it; and what no rule orders comes after the rest."""
    visits = {"a": Visit(), "b": Visit(at_desk=True), "c": Visit()}
    steps = {
        name: Step(name, name, (), (), visit=visit, is_ordered=name != "a") for name, visit in visits.items()
    }
    blocks = timetable(Graph(steps, dict.fromkeys(steps, frozenset())))
    assert [(block.kind, [step.id for step in block.steps]) for block in blocks] == [
        (BlockKind.DESK, ["b"]),
        (BlockKind.WORK, ["c"]),
        (BlockKind.UNORDERED, ["a"]),
    ]


def test_steps_that_wait_for_each_other_have_no_timetable() -> None:
    """A circle is a fault of the caller, who takes circles out first."""
    steps = {name: Step(name, name, (), ()) for name in ("a", "b")}
    with pytest.raises(ValueError, match="wait for each other"):
        timetable(Graph(steps, {"a": frozenset("b"), "b": frozenset("a")}))
