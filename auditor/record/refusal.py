"""Why a record is refused: every fault at once, with its place. Slow, and only for what failed."""

from collections.abc import Iterator, Sequence
from itertools import chain, islice
from typing import Any, TypeAlias

import orjson

from auditor.dataclass import dataclass
from auditor.errors import Fault
from auditor.record.limits import Limits, too_large
from auditor.record.mask import LEAVE_OUT, MASKED, is_masked
from auditor.record.pointer import join
from auditor.record.position import JsonFaultError, Place, Survey, decoded, positions, survey
from auditor.record.schema import card_schema
from auditor.record.wording import describe_errors

Path: TypeAlias = tuple[str | int, ...]

REPORT = "witnessmark/result-1"
"""What our own reports in JSON call themselves."""

A_REPORT, MOVE_IT = "this is a report, not a record", "Move it out of the folder of records."

NAME_A_MAP = (
    "If a card exported it, give the map of such exports: --map FILE. To make one: witnessmark map draft."
)

MOST_FAULTS = 1000
"""Faults of one record that are listed; our own figure, to bound what a hostile record costs."""


@dataclass(frozen=True, slots=True)
class _Flaw:
    path: Path
    problem: str
    remedy: str
    place: Place | None = None


def find_faults(text: bytes, file: str, limits: Limits, *, first_line: int = 1) -> tuple[Fault, ...]:
    """Return every fault of a record's text in file order; none if it is a valid record.

    Text that is not JSON has one fault. A missing member stands at the object it is missing
    from. At most ``MOST_FAULTS`` are listed, and one more that says so.
    """
    if len(text) > limits.record_bytes:
        return (too_large(file, first_line, limits),)
    try:
        flaws = _placed(_flaws(text, limits), text)
    except JsonFaultError as error:
        flaws = [_Flaw((), error.problem, error.remedy, error.place)]
    faults = [_fault(flaw, file, first_line) for flaw in flaws]
    if len(faults) > MOST_FAULTS:
        more = Fault(
            file, "", 0, 0, f"more than {MOST_FAULTS} faults", "Mend these first: the rest is not listed."
        )
        faults[MOST_FAULTS:] = [more]
    return tuple(faults)


def _fault(flaw: _Flaw, file: str, first_line: int) -> Fault:
    line, column = flaw.place or (1, 0)
    return Fault(file, join(flaw.path), first_line - 1 + line, column, flaw.problem, flaw.remedy)


def _placed(flaws: Sequence[_Flaw], text: bytes) -> list[_Flaw]:
    """Give each flaw its place, or that of what would enclose it, and sort by it."""
    lost = [flaw.path for flaw in flaws if flaw.place is None]
    wanted = {join(path[:size]) for path in lost for size in range(len(path) + 1)}
    places = positions(text, wanted) if wanted else {}
    placed = [_Flaw(f.path, f.problem, f.remedy, f.place or _nearest_place(f.path, places)) for f in flaws]
    return sorted(placed, key=lambda flaw: flaw.place or Place(1, 0))


def _nearest_place(path: Path, places: dict[str, Place]) -> Place | None:
    sizes = range(len(path), -1, -1)
    return next((places[at] for at in (join(path[:size]) for size in sizes) if at in places), None)


def _flaws(text: bytes, limits: Limits) -> list[_Flaw]:
    source = decoded(text)
    if not source.strip(" \t\r\n"):
        raise JsonFaultError(Place(1, 1), "empty", "Export the record again.")
    if source.lstrip(" \t\r\n").startswith("<"):
        raise JsonFaultError(
            Place(1, 1), "XML of a form that is not known, where a record is due", NAME_A_MAP
        )
    seen = survey(source, limits.depth)
    found = chain(
        _doubled_flaws(seen), _deep_flaws(seen, limits) if seen.deep else _content_flaws(source, limits)
    )
    return list(islice(found, MOST_FAULTS + 1))


def _doubled_flaws(seen: Survey) -> Iterator[_Flaw]:
    for one in seen.doubled:
        where = f"line {one.first.line}, column {one.first.column}"
        yield _Flaw(
            one.path, f"this member stands twice, first at {where}", "Remove one of the two.", one.again
        )


def _deep_flaws(seen: Survey, limits: Limits) -> Iterator[_Flaw]:
    problem = f"brackets nest deeper than {limits.depth} levels"
    yield _Flaw(seen.deep or (), problem, "Check that this is a record: one nests ten deep.", seen.deep_place)


def _content_flaws(source: str, limits: Limits) -> Iterator[_Flaw]:
    document = orjson.loads(source)
    if isinstance(document, dict) and document.get("schema") == REPORT:
        yield _Flaw((), A_REPORT, MOVE_IT)
    elif isinstance(document, dict):
        yield from _limit_flaws(document, limits)
        for path, problem, remedy in describe_errors(document, card_schema()):
            yield _Flaw(path, problem, remedy)
    elif isinstance(document, list):
        yield _Flaw(
            (),
            "expected an object; found a list",
            "Keep one record in a .json file; several go into .ndjson.",
        )
    else:
        yield _Flaw((), "expected an object; found something else", "Give the record as exported.")


def _limit_flaws(document: dict[str, Any], limits: Limits) -> Iterator[_Flaw]:
    """Yield what the schema can't say, and cut lists that are too long for what comes after."""
    open_ends: list[tuple[Path, Any]] = [((), document)]
    while open_ends:
        path, value = open_ends.pop()
        if isinstance(value, dict):
            if isinstance(value.get("clear"), str) and is_masked(value["clear"]):
                yield _Flaw((*path, "clear"), MASKED, LEAVE_OUT)
            open_ends += [((*path, name), inner) for name, inner in value.items()]
        elif isinstance(value, list):
            if len(value) > limits.items:
                problem = f"a list of {len(value)} items; at most {limits.items} are allowed"
                yield _Flaw(path, problem, "Check that this list belongs to one card.")
                del value[limits.items :]
            open_ends += [((*path, index), inner) for index, inner in enumerate(value)]
