"""What an import brought, for the terminal: what is known now, what was lost, what contradicts."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from auditor.intake.merge import Merged
from auditor.report.layout import wrap
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


def import_text(brought: Sequence[Brought], look: Look) -> str:
    """Return the text on every card, no wider than the look allows."""
    blocks = ["\n".join(_lines(one, look.width)) for one in brought]
    return "\n\n".join([*blocks, _total(brought)])


def _total(brought: Sequence[Brought]) -> str:
    cards = "1 record" if len(brought) == 1 else f"{len(brought)} records"
    return f"{cards} written. Audit them: witnessmark audit FOLDER"


def _lines(one: Brought, width: int) -> Iterator[str]:
    merged, knowledge = one.merged, one.knowledge
    yield from wrap(f"{plain(merged.card_id)}  {plain(one.target)}", width)
    yield from _wrapped(f"from {', '.join(merged.sources)}", width)
    yield from _wrapped(
        f"known: {knowledge.known} of {knowledge.settings} settings · {len(knowledge.decided)} rules "
        f"decided, {len(knowledge.undecided)} wait for a setting",
        width,
    )
    yield from _listed("capture next, most important first", list(_steps(knowledge)), width)
    yield from _listed(
        "could not be converted", [f"{lost.origin}: {lost.why}" for lost in merged.lost], width
    )
    yield from _listed("sources contradict each other", list(_contradictions(merged)), width)
    yield from _listed("no place in a record for", list(_names(merged)), width)


def _steps(knowledge: Knowledge) -> Iterator[str]:
    for step in knowledge.next_steps[:_STEPS]:
        rules = "1 rule" if len(step.rules) == 1 else f"{len(step.rules)} rules"
        yield f"{step.pointer}: decides {rules}, weight {step.weight}"
    if len(knowledge.next_steps) > _STEPS:
        yield f"and {len(knowledge.next_steps) - _STEPS} settings more"


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
