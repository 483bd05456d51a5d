"""Cells that a person filled in → settings with their origins, or every fault at its cell.

The cells of a sheet's row and the answers of a worksheet are the same thing here.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise
from typing import Any

import orjson

from auditor.dataclass import dataclass, field
from auditor.errors import Fault, RecordError
from auditor.intake.csv_cells import unguarded
from auditor.intake.imported import Lost, Origin
from auditor.record.cell import CellError, MaskedError, read_cell, write_cell
from auditor.record.limits import DEFAULT
from auditor.record.outline import ANY, Leaf, leaf_at
from auditor.record.pointer import join
from auditor.record.reading import read_record
from auditor.record.schema import SCHEMA_NAME
from auditor.record.settings import Settings

Tokens = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Cell:
    """A filled cell: the place of its setting, with list indexes from 0, its text and where it stands."""

    tokens: Tokens
    leaf: Leaf
    text: str = field(repr=False)
    origin: Origin


@dataclass(frozen=True, slots=True)
class Filled:
    """What cells gave: settings with an origin each, masked secrets, and faults."""

    settings: Settings = field(repr=False)
    origins: Mapping[str, Origin]
    lost: tuple[Lost, ...]
    faults: tuple[Fault, ...]


class _Items(dict[int, Any]):
    """A list in the making: its members by index, and how many there shall be, if that was said."""

    def __init__(self) -> None:
        super().__init__()
        self.size: int | None = None


def fill(cells: Iterable[Cell]) -> Filled:
    """Return the settings that cells state; cells of blanks alone are unknown.

    Where there are faults, the settings are not to be used. A list whose number of members is
    not told has as many as are filled in, which must follow each other.
    """
    draft: dict[str, Any] = {}
    taken: list[tuple[Cell, Any]] = []
    lost: list[Lost] = []
    faults: list[Fault] = []
    for cell in (cell for cell in cells if cell.text.strip()):
        try:
            value = read_cell(cell.leaf, _without_guard(cell.text))
        except MaskedError as error:
            _make_items(draft, cell.tokens)
            lost.append(Lost(cell.origin, error.problem))
        except CellError as error:
            faults.append(_fault(cell, error.problem, error.remedy))
        else:
            _put(draft, cell.tokens, value, cell.leaf)
            taken.append((cell, value))
    used = [cell for cell, _ in taken]
    faults += _gaps(draft, used) if not faults else ()
    settings = {} if faults else _closed(draft)
    if not faults:
        faults += _departures(settings, used)
    # How many members a list has is no setting, unless there are none.
    origins = {
        join(cell.tokens): cell.origin for cell, value in taken if cell.leaf.kind != "members" or not value
    }
    return Filled(settings, origins, tuple(lost), tuple(faults))


def cells_of(settings: Settings) -> Iterator[tuple[Tokens, Leaf, str]]:
    """Yield place, setting and text of every cell that a record fills.

    A list of objects fills a cell of its own only where its members would not tell how many
    there are. Objects of which nothing is known fill none.
    """
    for name, value in settings.items():
        if name != "schema":
            yield from _cells_below(value, (name,), (name,))


def _without_guard(text: str) -> str:
    try:
        return unguarded(text)
    except ValueError as error:
        raise CellError(
            "a formula", "Write the value itself; text of this kind goes after an apostrophe."
        ) from error


def _put(draft: dict[str, Any], tokens: Tokens, value: Any, leaf: Leaf) -> None:  # noqa: ANN401 - any JSON value
    if leaf.kind == "members":
        _made(draft, (*tokens, "0")).size = value
    else:
        holder = _made(draft, tokens)
        holder[tokens[-1]] = value


def _make_items(draft: dict[str, Any], tokens: Tokens) -> None:
    """Make the members of lists that lead to a place, so that one of which nothing else is known counts."""
    deepest = max((at for at, token in enumerate(tokens) if token.isdecimal()), default=-1)
    if deepest >= 0:
        _made(draft, tokens[: deepest + 2])


def _made(draft: dict[str, Any], tokens: Tokens) -> Any:  # noqa: ANN401 - an object or a list in the making
    """Return what holds the last token, made if it is missing."""
    node: Any = draft
    for token, after in pairwise(tokens):
        fresh: Any = _Items() if after.isdecimal() else {}
        node = node.setdefault(int(token) if isinstance(node, _Items) else token, fresh)
    return node


def _gaps(draft: Mapping[str, Any], cells: Sequence[Cell]) -> list[Fault]:
    """Return a fault for every list whose members do not follow each other, or are too many."""
    found = []
    for tokens, items in _lists(draft, ()):
        size = len(items) if items.size is None else items.size
        beyond = [index for index in items if index >= size]
        if beyond or size > DEFAULT.items:
            found.append(_list_fault(tokens, items, cells))
    return found


def _lists(node: Any, tokens: Tokens) -> Iterator[tuple[Tokens, _Items]]:  # noqa: ANN401 - a draft
    if isinstance(node, _Items):
        yield tokens, node
    if isinstance(node, (dict, _Items)):
        for key, inner in node.items():
            if isinstance(inner, dict):
                yield from _lists(inner, (*tokens, str(key)))


def _list_fault(tokens: Tokens, items: _Items, cells: Sequence[Cell]) -> Fault:
    cell = next(cell for cell in cells if cell.tokens[: len(tokens)] == tokens)
    if (items.size or 0) > DEFAULT.items:
        problem = f"expected at most {DEFAULT.items} members"
        return _fault(cell, problem, "Write how many the card has.")
    if items.size is None:
        missing = min(set(range(len(items))) - set(items)) + 1
        problem = f"member {missing} of the list is empty, but a later one is not"
        return _fault(
            cell, problem, "Move the later ones up, or write how many there are for the list itself."
        )
    problem = (
        f"the list is said to have {items.size or 'no'} members, but member {max(items) + 1} is filled in"
    )
    return _fault(cell, problem, "Correct the number, or empty the cells of that member.")


def _closed(node: Any) -> Any:  # noqa: ANN401 - a draft
    if isinstance(node, _Items):
        size = len(node) if node.size is None else node.size
        return [_closed(node.get(index, {})) for index in range(size)]
    if isinstance(node, dict):
        return {name: _closed(inner) for name, inner in node.items()}
    return node


def _departures(settings: Settings, cells: Sequence[Cell]) -> list[Fault]:
    """Return what the schema does not allow, each at the cell that it comes from."""
    card = {"id": "unnamed", **settings.get("card", {})}
    try:
        read_record(orjson.dumps({"schema": SCHEMA_NAME, **settings, "card": card}), "")
    except RecordError as error:
        by_pointer = {join(cell.tokens): cell for cell in cells}
        return [
            _fault(_nearest(fault.pointer, by_pointer), fault.problem, fault.remedy) for fault in error.faults
        ]
    return []


def _nearest(pointer: str, cells: Mapping[str, Cell]) -> Cell:
    """Return the cell of a place, of what encloses it, or else the first one inside it."""
    at = pointer
    while at:
        if at in cells:
            return cells[at]
        inside = next((cell for place, cell in cells.items() if place.startswith(f"{at}/")), None)
        if inside:
            return inside
        at = at.rpartition("/")[0]
    return next(iter(cells.values()))


def _fault(cell: Cell, problem: str, remedy: str) -> Fault:
    at, pointer = cell.origin, join(cell.tokens)
    said = problem if at.at == pointer else f"{at.at}: {problem}"
    return Fault(at.file, pointer, at.line, 0, said, remedy)


def _cells_below(value: Any, tokens: Tokens, pattern: Tokens) -> Iterator[tuple[Tokens, Leaf, str]]:  # noqa: ANN401
    leaf = leaf_at(pattern)
    if leaf is None:
        for name, inner in value.items():
            yield from _cells_below(inner, (*tokens, name), (*pattern, name))
    elif leaf.kind == "members":
        yield from _cells_of_list(value, tokens, leaf)
    else:
        yield tokens, leaf, write_cell(leaf, value)


def _cells_of_list(members: Sequence[Any], tokens: Tokens, leaf: Leaf) -> Iterator[tuple[Tokens, Leaf, str]]:
    cells = [
        list(_cells_below(member, (*tokens, str(index)), (*leaf.tokens, ANY)))
        for index, member in enumerate(members)
    ]
    if not members or not all(cells):
        yield tokens, leaf, write_cell(leaf, len(members))
    for member in cells:
        yield from member
