"""Where things stand in a JSON text: a small scanner of its own, exact to the column.

The fast parser says what a text holds, not where. This one says where, finds doubled member
names and measures depth. It keeps a list for a stack, so deep nesting costs memory, never
recursion, and no values. Lines end at a line feed; columns count Unicode code points; both
start at 1. A byte order mark at the start is skipped and not counted.
"""

import json
from collections.abc import Iterable, Iterator
from math import isinf
from typing import NamedTuple

from auditor.dataclass import dataclass, field
from auditor.record.pointer import split
from auditor.record.syntax import STATES, State, diagnose

MOST_DOUBLED = 1000
"""Doubled names that a survey keeps; our own figure, to bound what a hostile text can cost."""


class Place(NamedTuple):
    """A place in a text: line and column, from 1."""

    line: int
    column: int


class JsonFaultError(ValueError):
    """A text that is not JSON: where, what is wrong, what to do. Repeats nothing of the text.

    ``cut_off`` is true when nothing is wrong but that the text ends too early.
    """

    def __init__(self, place: Place, problem: str, remedy: str, cut_off: bool = False) -> None:  # noqa: FBT001, FBT002 - kept in args
        """Keep all arguments in ``args``, so that the error survives pickling."""
        super().__init__(place, problem, remedy, cut_off)
        self.place, self.problem, self.remedy, self.cut_off = place, problem, remedy, cut_off


class Event(NamedTuple):
    """One step of the scanner: what it met, where it begins in the text, and its text.

    ``kind`` is ``open``, ``close``, ``name``, ``scalar`` or ``comma``. Names and texts are as
    written, in their quotes.
    """

    kind: str
    start: int
    token: str


@dataclass(frozen=True, slots=True)
class Doubled:
    """A member name that stands again in the same object."""

    path: tuple[str | int, ...]
    first: Place
    again: Place


@dataclass(frozen=True, slots=True)
class Survey:
    """What a text shows: doubled names in file order, and the first bracket too deep.

    Nothing after a bracket too deep is looked at.
    """

    doubled: tuple[Doubled, ...]
    deep: tuple[str | int, ...] | None
    deep_place: Place | None


def decoded(text: bytes) -> str:
    """Return the text without a byte order mark.

    Raises:
        JsonFaultError: if it is not UTF-8.
    """
    try:
        return text.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        before = text[: error.start].decode("utf-8").removeprefix("\ufeff")
        place = place_of(before, len(before))
        raise JsonFaultError(place, *_encoding(text)) from error


def _encoding(text: bytes) -> tuple[str, str]:
    if text.startswith(b"\x1f\x8b"):
        return "the text is compressed with gzip", "Give it as a file named .json.gz or .ndjson.gz."
    if text.startswith((b"\xff\xfe", b"\xfe\xff")):
        return "the text is UTF-16", "Save the file as UTF-8."
    return "the text is not UTF-8", "Save the file as UTF-8."


def place_of(text: str, at: int) -> Place:
    """Return the place of an offset in a decoded text."""
    return Place(text.count("\n", 0, at) + 1, at - text.rfind("\n", 0, at))


def events(text: str) -> Iterator[Event]:
    """Walk through a JSON text.

    Raises:
        JsonFaultError: where the text stops being JSON.
    """
    opened: list[int] = []
    state: State = "value"
    at = 0
    while found := STATES[state].match(text, at):
        kind = found.lastgroup or ""
        if kind == "end":
            return
        start = found.start(kind)
        token = found[kind]
        yield Event(kind, start, token)
        at = found.end()
        state = _next_state(text, kind, start, opened)
    raise _json_fault(text, at, state, opened)


def _next_state(text: str, kind: str, start: int, opened: list[int]) -> State:
    if kind == "name":
        return "value"
    if kind == "comma":
        return "next_member" if text[opened[-1]] == "{" else "next_item"
    if kind == "open":
        opened.append(start)
        return "member" if text[start] == "{" else "item"
    if kind == "close":
        opened.pop()
    if not opened:
        return "end"
    return "after_member" if text[opened[-1]] == "{" else "after_item"


def _json_fault(text: str, at: int, state: State, opened: list[int]) -> JsonFaultError:
    opener = ""
    if opened:
        kind = "the object" if text[opened[-1]] == "{" else "the list"
        opener = f"{kind} that begins on line {place_of(text, opened[-1]).line}"
    diagnosis = diagnose(text, at, state, opener)
    return JsonFaultError(place_of(text, diagnosis.at), *diagnosis[1:])


def positions(text: bytes, pointers: Iterable[str]) -> dict[str, Place]:
    """Return where the values at these pointers begin; pointers to nothing are left out.

    Of doubled members the last counts, as for the parser.

    Raises:
        JsonFaultError: if the text is not JSON.
        ValueError: if a pointer is not one.
    """
    source = decoded(text)
    found: dict[str, int] = {}
    path: list[_Step] = []
    top = _wishes(pointers)
    for event in events(source):
        wish = _follow(path, event, top)
        if wish is not None and wish.pointer is not None:
            found[wish.pointer] = event.start
        if event.kind == "open":
            path.append(_Step(wish))
    places = _places_of(source, found.values())
    return {pointer: places[at] for pointer, at in found.items()}


class Span(NamedTuple):
    """Where a value stands: its first character, and the place after its last."""

    start: Place
    end: Place


def spans(text: bytes, pointers: Iterable[str]) -> dict[str, Span]:
    """Return where the values at these pointers begin and end; pointers to nothing are left out.

    Of doubled members the last counts, as for the parser.

    Raises:
        JsonFaultError: if the text is not JSON.
        ValueError: if a pointer is not one.
    """
    source = decoded(text)
    found: dict[str, tuple[int, int]] = {}
    path: list[_Step] = []
    opened: list[tuple[str | None, int]] = []
    top = _wishes(pointers)
    for event in events(source):
        wish = _follow(path, event, top)
        pointer = wish.pointer if wish is not None else None
        if event.kind == "open":
            path.append(_Step(wish))
            opened.append((pointer, event.start))
        elif event.kind == "close":
            pointer, start = opened.pop()
            if pointer is not None:
                found[pointer] = (start, event.start + 1)
        elif pointer is not None:
            found[pointer] = (event.start, event.start + len(event.token))
    places = _places_of(source, (at for pair in found.values() for at in pair))
    return {pointer: Span(places[start], places[end]) for pointer, (start, end) in found.items()}


def _places_of(text: str, offsets: Iterable[int]) -> dict[int, Place]:
    """Return the places of offsets, counting lines once however many there are."""
    places: dict[int, Place] = {}
    line, newline, counted = 1, -1, 0
    for at in sorted(set(offsets)):
        line += text.count("\n", counted, at)
        newline = max(newline, text.rfind("\n", counted, at))
        counted = at
        places[at] = Place(line, at - newline)
    return places


@dataclass(slots=True)
class _Wish:
    """A place that is asked for, or on the way to one."""

    pointer: str | None = None
    below: "dict[str, _Wish]" = field(default_factory=dict)


@dataclass(slots=True)
class _Step:
    """An open bracket: what is wished for below it, and which member or item is current."""

    wish: _Wish | None
    index: int = 0
    name: str | None = None


def _wishes(pointers: Iterable[str]) -> _Wish:
    top = _Wish()
    for pointer in pointers:
        node = top
        for token in split(pointer):
            node = node.below.setdefault(token, _Wish())
        node.pointer = pointer
    return top


def _follow(path: list[_Step], event: Event, top: _Wish) -> _Wish | None:
    """Keep the current step up to date; return the wish at this value, if it is one."""
    if event.kind in ("open", "scalar"):
        if not path:
            return top
        step = path[-1]
        return step.wish and step.wish.below.get(str(step.index) if step.name is None else step.name)
    if event.kind == "close":
        path.pop()
    elif event.kind == "comma":
        path[-1].index += 1
    elif path[-1].wish is not None:
        path[-1].name = _written_out(event.token)
    return None


def _written_out(name: str) -> str:
    """Return a name without its quotation marks and escapes."""
    return str(json.loads(name)) if "\\" in name else name[1:-1]


def survey(text: str, depth: int) -> Survey:
    """Read through a decoded text once and return what stands out.

    Raises:
        JsonFaultError: if the text is not JSON, or a number is beyond any double.
    """
    doubled: list[Doubled] = []
    path: list[str | int] = []
    names: list[dict[str, int]] = []
    for kind, start, token in events(text):
        if kind == "name":
            path[-1] = _written_out(token)
            first = names[-1].setdefault(str(path[-1]), start)
            if first != start and len(doubled) < MOST_DOUBLED:
                doubled.append(Doubled(tuple(path), place_of(text, first), place_of(text, start)))
        elif kind == "comma":
            path[-1] = path[-1] + 1 if isinstance(path[-1], int) else 0
        elif kind == "close":
            path.pop()
            names.pop()
        elif kind == "open":
            if len(path) == depth:
                return Survey(tuple(doubled), tuple(path), place_of(text, start))
            path.append(0)
            names.append({})
        else:
            _check_number(text, start, token)
    return Survey(tuple(doubled), None, None)


def is_cut_off(text: bytes) -> bool:
    """Tell whether a text is JSON so far, but ends too early."""
    try:
        for _ in events(decoded(text)):
            pass
    except JsonFaultError as fault:
        return fault.cut_off
    return False


def _check_number(text: str, start: int, token: str) -> None:
    if token[0] in "-0123456789" and isinf(float(token)):
        raise JsonFaultError(
            place_of(text, start), "a number beyond all limits", "Write the number as the card shows it."
        )
