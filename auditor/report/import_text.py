"""What an import brought, for the terminal: what is known now, what was lost, what contradicts."""

import shlex
from collections.abc import Iterator, Sequence

from auditor.dataclass import dataclass
from auditor.intake.merge import Merged
from auditor.report.ink import Ink, Style
from auditor.report.layout import Cell, Column, Fit, grid, wrap
from auditor.report.plain import plain
from auditor.report.writer import Look
from auditor.scoring.knowledge import Knowledge

_STEPS = 8
_NAMES = 12


@dataclass(frozen=True, slots=True)
class Brought:
    """One card of an import: where its record was written, and what is known of it now."""

    target: str
    merged: Merged
    knowledge: Knowledge


def import_text(brought: Sequence[Brought], look: Look, folder: str) -> str:
    """Return the text on every card, no wider than the look allows."""
    blocks = ["\n".join(_lines(one, look)) for one in brought]
    return "\n\n".join([*blocks, *wrap(plain(_total(brought, folder)), look.width, later="  ")])


def _total(brought: Sequence[Brought], folder: str) -> str:
    if not brought:
        return "No record was written."
    cards = "1 record" if len(brought) == 1 else f"{len(brought)} records"
    return f"{cards} written. To audit: witnessmark audit {shlex.quote(folder)}"


def _lines(one: Brought, look: Look) -> Iterator[str]:
    merged, knowledge, width = one.merged, one.knowledge, look.width
    title = wrap(f"{plain(merged.card_id)} → {plain(one.target)}", width, later="  ")
    yield from (Ink(look.colour)(line, Style.STRONG) for line in title)
    yield from _wrapped(f"from {', '.join(merged.sources)}", width)
    yield from _wrapped(
        f"known: {knowledge.known} of {knowledge.settings} settings · {len(knowledge.decided)} rules "
        f"decided, {len(knowledge.undecided)} wait for a setting",
        width,
    )
    yield from _steps(knowledge, look)
    yield from _listed(
        "could not be converted", [f"{lost.origin}: {lost.why}" for lost in merged.lost], width
    )
    yield from _listed("sources contradict each other", list(_contradictions(merged)), width)
    yield from _listed("no place in a record for", list(_names(merged)), width)


_STEP_COLUMNS = (
    Column("capture next, most important first", fit=Fit.CUT_START),
    Column("decides rules", number=True),
    Column("weight", number=True),
)


def _steps(knowledge: Knowledge, look: Look) -> Iterator[str]:
    rows = [
        (Cell(plain(step.pointer)), Cell(str(len(step.rules))), Cell(str(step.weight)))
        for step in knowledge.next_steps[:_STEPS]
    ]
    if rows:
        yield from (f"  {line}" for line in grid(_STEP_COLUMNS, rows, look.width - 2, Ink(look.colour)))
    more = len(knowledge.next_steps) - _STEPS
    if more > 0:
        yield f"  … and {more} {'setting' if more == 1 else 'settings'} more"


def _contradictions(merged: Merged) -> Iterator[str]:
    for one in merged.contradictions:
        yield f"{one.pointer}: {one.problem}; kept {one.kept}, not {one.other}"


def _names(merged: Merged) -> Iterator[str]:
    if merged.unmapped:
        more = len(merged.unmapped) - _NAMES
        yield ", ".join(merged.unmapped[:_NAMES]) + (f" and {more} more" if more > 0 else "")


def _listed(title: str, items: Sequence[str], width: int) -> Iterator[str]:
    if items:
        yield from _wrapped(f"{title}:", width)
    for item in items:
        yield from wrap(plain(item), width, first="    ", later="      ")


def _wrapped(text: str, width: int) -> list[str]:
    return wrap(plain(text), width, first="  ", later="    ")
