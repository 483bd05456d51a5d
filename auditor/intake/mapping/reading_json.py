"""JSON bytes → a source that can be asked by pointers with wildcards. Knows no settings."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

import orjson

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError
from auditor.intake.json_text import read_json_text
from auditor.intake.mapping.place import GROUP, OWN_NAME, Found, PlaceError
from auditor.record.limits import DEFAULT, too_large
from auditor.record.pointer import join, split
from auditor.record.position import decoded, events

MOST_VALUES = 200_000
"""Values in the export of one card at most; our own figure."""

MOST_VISITS = 3_000_000
"""Values that all the places of a map look at together in one source; our own figure, some seconds."""

_Path: TypeAlias = tuple[str, ...]
_EVERY = "*"
_REMEDY = "Write it as /services/telnet/enabled, with * for every item of a list: /users/*/name."


def read_json(text: bytes, file: str) -> "JsonBlock":
    """Return the document as one block.

    Raises:
        InputError: with every fault of the text: not JSON, too large, too deep, names that stand
            twice, too many values; later, if a map asks it for too much.
    """
    if len(text) > DEFAULT.record_bytes:
        raise InputError([too_large(file, 0, DEFAULT)])
    value = read_json_text(text, file)
    places = _places(decoded(text))
    if len(places) > MOST_VALUES:
        remedy = "Check that this is the export of one card."
        raise InputError([Fault(file, "", 0, 0, f"more than {MOST_VALUES} values", remedy)])
    return JsonBlock(_Document(file, places), (), value)


def _places(source: str) -> dict[_Path, tuple[int, int]]:
    """Return line and number of every value, as the scanner meets them."""
    places: dict[_Path, tuple[int, int]] = {}
    path: list[str | int] = []
    line, last = 1, 0
    for kind, start, token in events(source):
        if kind in ("open", "scalar"):
            line, last = line + source.count("\n", last, start), start
            places[tuple(map(str, path))] = (line, len(places))
        if kind == "open":
            path.append(0)
        elif kind == "close":
            path.pop()
        elif kind == "name":
            path[-1] = str(orjson.loads(token))
        elif kind == "comma":
            path[-1] = path[-1] + 1 if isinstance(path[-1], int) else 0
        if len(places) > MOST_VALUES:
            break
    return places


class _Document:
    """Where every value stands, and how much was looked at so far."""

    def __init__(self, file: str, places: Mapping[_Path, tuple[int, int]]) -> None:
        self.places = places
        self._file, self._visits = file, 0

    def visit(self) -> None:
        self._visits += 1
        if self._visits > MOST_VISITS:
            problem = f"the map looks at more than {MOST_VISITS} values of this source"
            remedy = "Write its places without *, or check that this is the export of one card."
            raise InputError([Fault(self._file, "", 0, 0, problem, remedy)])


@dataclass(frozen=True, slots=True)
class JsonBlock:
    """A value as a block: places are pointers that begin at it."""

    document: _Document
    path: _Path
    value: Any

    def find(self, place: str) -> Sequence[Found]:
        """Return the values that a pointer leads to; null is nothing.

        Raises:
            PlaceError: if the place is no pointer.
            InputError: if the map looks at too much.
        """
        if place == OWN_NAME:
            return (self._found(self.path, self.path[-1] if self.path else ""),)
        found = self._walk(_tokens(place))
        return tuple(self._found(path, value) for path, value in found if value is not None)

    def blocks(self, inside: str, each: str) -> "Sequence[JsonBlock] | None":
        """Return the values that a pointer leads to, as blocks.

        Raises:
            PlaceError: if a place is no pointer.
            InputError: if the map looks at too much.
        """
        tokens = (*_tokens(inside), *_tokens(each))
        found = [JsonBlock(self.document, *one) for one in self._walk(tokens) if one[1] is not None]
        return tuple(found) if found or self.holds_none(join(tokens)) else None

    def holds_none(self, place: str) -> bool:
        """Tell whether what the last wildcard stands in is an empty list or object."""
        tokens = _tokens(place)
        if not tokens or tokens[-1] != _EVERY:
            return False
        around = [value for _, value in self._walk(tokens[:-1])]
        return bool(around) and all(value in ([], {}) for value in around)

    def leaves(self) -> Sequence[Found]:
        """Return every value below that is no list or object, and not null."""
        return tuple(self._leaves())

    def here(self) -> Found:
        """Return the place of the value."""
        return self._found(self.path, "")

    def _leaves(self) -> Iterator[Found]:
        open_ends = [(self.path, self.value)]
        while open_ends:
            path, value = open_ends.pop()
            inner = list(_inside(value))
            if inner:
                open_ends += [((*path, token), item) for token, item in reversed(inner)]
            elif value is not None and value not in ([], {}):
                yield self._found(path, value)

    def _walk(self, tokens: _Path) -> list[tuple[_Path, Any]]:
        level = [(self.path, self.value)]
        for token in tokens:
            level = [((*path, key), item) for path, value in level for key, item in self._step(value, token)]
        return level

    def _step(self, value: object, token: str) -> Iterator[tuple[str, Any]]:
        if token == _EVERY:
            for key, item in _inside(value):
                self.document.visit()
                yield key, item
        elif isinstance(value, dict):
            self.document.visit()
            if token in value:
                yield token, value[token]
        elif isinstance(value, list) and token.isascii() and token.isdecimal() and int(token) < len(value):
            yield token, value[int(token)]

    def _found(self, path: _Path, value: object) -> Found:
        line, number = self.document.places[path]
        numbers = (_EVERY if token.isdecimal() else token for token in path)
        fault = GROUP if isinstance(value, (list, dict)) else ""
        return Found("" if fault else _text(value), line, join(path), join(numbers), number, fault)


def _inside(value: object) -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict):
        yield from value.items()
    elif isinstance(value, list):
        yield from ((str(index), item) for index, item in enumerate(value))


def _text(value: object) -> str:
    return value if isinstance(value, str) else orjson.dumps(value).decode()


def _tokens(place: str) -> _Path:
    if place == ".":
        return ()
    try:
        return split(place)
    except ValueError as error:
        raise PlaceError("not a JSON Pointer (RFC 6901)", _REMEDY) from error


def check_pointer(place: str) -> None:
    """Check that a place can be read.

    Raises:
        PlaceError: if it is no pointer.
    """
    if place != OWN_NAME:
        _tokens(place)
