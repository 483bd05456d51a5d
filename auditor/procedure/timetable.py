"""Steps in the order in which they are done, with as few restarts as their order allows.

A mend that needs a restart is in force, and can be proved, only after it: what waits for such
a mend waits for the restart. So the least number of restarts is that of the longest chain, and
it is reached by doing first all that needs none, then all that may share the next restart.
"""

from collections.abc import Iterable, Iterator
from enum import StrEnum
from itertools import groupby
from typing import Final

from auditor.dataclass import dataclass
from auditor.procedure.order import Graph
from auditor.procedure.step import Step


class BlockKind(StrEnum):
    """What the steps of a block have in common.

    ``desk``: they are not done at the card. ``work``: they need no restart. ``batch``: they
    share the restart at the end. ``output``: one step that could affect the output, set apart.
    ``unordered``: their rules say nothing of visits.
    """

    DESK = "desk"
    WORK = "work"
    BATCH = "batch"
    OUTPUT = "output"
    UNORDERED = "unordered"


@dataclass(frozen=True, slots=True)
class Block:
    """Steps that are done one after the other; ``restarts`` tells whether a restart ends it."""

    kind: BlockKind
    steps: tuple[Step, ...]
    restarts: bool = False


def timetable(graph: Graph) -> tuple[Block, ...]:
    """Return all steps of a graph without circles, in blocks.

    Stable: equal graphs give equal blocks. Steps that could affect the output stand alone, and
    as late as others let them.

    Raises:
        ValueError: if steps wait for each other in a circle.
    """
    return tuple(_joined(_blocks(graph)))


def restarts_of(blocks: Iterable[Block]) -> int:
    """Return how many restarts some blocks ask for."""
    return sum(block.restarts for block in blocks)


def _blocks(graph: Graph) -> Iterator[Block]:
    left = {name: set(earlier) for name, earlier in graph.before.items()}
    waited_for = _waited_for(graph)
    while left:
        ready = [graph.steps[name] for name, earlier in left.items() if not earlier]
        if not ready:
            message = f"steps wait for each other: {', '.join(left)}"
            raise ValueError(message)
        block = _next_block(ready, waited_for)
        yield block
        done = {step.id for step in block.steps}
        for name in done:
            del left[name]
        for earlier in left.values():
            earlier.difference_update(done)


def _next_block(ready: list[Step], waited_for: frozenset[str]) -> Block:
    """Return what to do next: desk work, what needs no restart, then what others wait for, then a batch."""
    free = [step for step in ready if not step.visit.restart and not step.visit.output_risk]
    if free:
        kind = min((_kind_of(step) for step in free), key=_FREE.index)
        return Block(kind, tuple(step for step in free if _kind_of(step) is kind))
    risky = [step for step in ready if step.visit.output_risk]
    urgent = [step for step in risky if step.id in waited_for]
    batch = tuple(step for step in ready if not step.visit.output_risk)
    if urgent or not batch:
        step = (urgent or risky)[0]
        return Block(BlockKind.OUTPUT, (step,), step.visit.restart)
    return Block(BlockKind.BATCH, batch, restarts=True)


_FREE: Final = (BlockKind.DESK, BlockKind.WORK, BlockKind.UNORDERED)
"""What needs no restart, in its order: what is done at the desk, before anybody leaves it."""


def _kind_of(step: Step) -> BlockKind:
    if not step.is_ordered:
        return BlockKind.UNORDERED
    return BlockKind.DESK if step.visit.at_desk else BlockKind.WORK


def _waited_for(graph: Graph) -> frozenset[str]:
    """Return what something waits for that neither touches the output itself nor is to be last."""
    waiting = [s.id for s in graph.steps.values() if not s.visit.output_risk and not s.visit.is_last]
    return frozenset(earlier for name in waiting for earlier in graph.all_before(name))


def _joined(blocks: Iterator[Block]) -> Iterator[Block]:
    """Join blocks of single steps of one kind that follow each other; output steps stay alone."""
    for (kind, apart, _), group in groupby(_numbered(blocks), key=lambda pair: pair[0]):
        found = [block for _, block in group]
        if apart:
            yield from found
        else:
            yield Block(kind, tuple(step for block in found for step in block.steps))


def _numbered(blocks: Iterator[Block]) -> Iterator[tuple[tuple[BlockKind, bool, int], Block]]:
    for number, block in enumerate(blocks):
        apart = block.kind in (BlockKind.OUTPUT, BlockKind.BATCH)
        yield (block.kind, apart, number if apart else 0), block
