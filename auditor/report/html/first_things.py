"""First things: the worst kinds of finding, and the easiest first step. Holds no markup."""

import re
from collections.abc import Iterable, Iterator, Sequence
from decimal import Decimal

from auditor.dataclass import dataclass
from auditor.report.figures import one_line
from auditor.report.html.findings import Block, Explained, Section
from auditor.report.html.wording import count
from auditor.scoring.band import Band

_MOST = 5
_SENTENCE_END = re.compile(r"(?<=[.!?])\s+(?=[A-Z])")


@dataclass(frozen=True, slots=True)
class Thing:
    """One kind of finding: its rule, its worst severity, and what to do about it.

    ``capture`` names the settings to capture first; a rule that fails nowhere has nothing else to do.
    """

    explained: Explained
    highest: Decimal
    band: Band
    capture: tuple[str, ...]

    @property
    def fails(self) -> bool:
        """Return whether a card is known to fail the rule; else its results are not known."""
        return self.explained.sums.failed > 0

    @property
    def where(self) -> str:
        """Return on how many cards of the estate the rule fails, and how often it is not known."""
        sums = self.explained.sums
        unknown = f"not known in {count(sums.unknown, 'result')}" if self.capture else ""
        failing = f"on {count(sums.cards_failing, 'card')}" if self.fails else ""
        return ", ".join(filter(None, (failing, unknown)))

    @property
    def step(self) -> str:
        """Return the mend in one line: its first sentence."""
        return _SENTENCE_END.split(one_line(self.explained.rule.mend.text), maxsplit=1)[0]

    @property
    def is_easy(self) -> bool:
        """Return whether the mend only sets values, and is known to need no restart and to risk nothing."""
        rule = self.explained.rule
        is_harmless = rule.visit is not None and not self.explained.visit
        return self.fails and is_harmless and bool(rule.mend.settings)


def things_of(sections: Iterable[Section]) -> tuple[Thing, ...]:
    """Return the kinds of finding: worst severity first, then those on most cards, then by rule.

    What must be mended first stands before what waits for it, however mild it is.
    """
    blocks = (block for section in sections for block in section.blocks if block.explains)
    worst_first = sorted(map(_thing, blocks), key=_worst_first)
    waiting = {thing.explained.rule.id: thing for thing in worst_first}
    ordered: list[Thing] = []
    for thing in worst_first:
        ordered += _with_those_before(thing, waiting)
    return tuple(ordered)


def _with_those_before(thing: Thing, waiting: dict[str, Thing]) -> Iterator[Thing]:
    """Yield a kind behind those to mend before it that still wait; what was yielded waits no more."""
    if waiting.pop(thing.explained.rule.id, None) is None:
        return
    first = sorted((waiting[name] for name in thing.explained.before if name in waiting), key=_worst_first)
    for other in first:
        yield from _with_those_before(other, waiting)
    yield thing


def first_of(things: Sequence[Thing]) -> tuple[Thing, ...]:
    """Return the kinds to begin with, at most five."""
    return tuple(things[:_MOST])


def easiest_of(things: Iterable[Thing]) -> Thing | None:
    """Return the worst kind whose mend is easy; None where there is none."""
    return next((thing for thing in things if thing.is_easy), None)


def _thing(block: Block) -> Thing:
    return Thing(block.explained, block.highest, block.lines[0].finding.band, block.capture)


def _worst_first(thing: Thing) -> tuple[Decimal, int, str]:
    return (-thing.highest, -thing.explained.sums.cards_failing, thing.explained.rule.id)
