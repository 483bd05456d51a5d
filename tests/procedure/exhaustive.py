"""The fewest restarts of a graph by trying everything: what the timetable is compared with."""

from functools import cache
from itertools import combinations

from auditor.procedure.order import Graph


def fewest_restarts(graph: Graph) -> int:
    """Return the fewest restarts over all orders: any free step, any step alone, any batch."""

    @cache
    def rest(done: frozenset[str]) -> int:
        if len(done) == len(graph.steps):
            return 0
        ready = [name for name in graph.steps if name not in done and graph.before[name] <= done]
        visits = {name: graph.steps[name].visit for name in ready}
        shared = [name for name in ready if visits[name].restart and not visits[name].output_risk]
        batches = [
            frozenset(chosen) for count in range(1, len(shared) + 1) for chosen in combinations(shared, count)
        ]
        alone = [(frozenset((name,)), visits[name].restart) for name in ready if name not in shared]
        return min(rest(done | names) + cost for names, cost in [*((b, True) for b in batches), *alone])

    return rest(frozenset())


def only_restarts(graph: Graph) -> Graph:
    """Return a graph of the steps that need a restart alone, with what waits for what between them.

    The others cost nothing and are done as soon as they can be, so the fewest restarts are the same.
    """
    names = frozenset(name for name, step in graph.steps.items() if step.visit.restart)
    steps = {name: step for name, step in graph.steps.items() if name in names}
    return Graph(steps, {name: graph.all_before(name) & names for name in steps})
