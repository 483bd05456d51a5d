"""The JSON form of an instance (RFC 7951, as RESTCONF gives it) → the neutral tree."""

import json
from collections.abc import Iterator, Mapping
from typing import Any, NoReturn

from auditor.dataclass import dataclass, field
from auditor.errors import Fault, InputError
from auditor.intake.ietf.data_tree import ENVELOPES, MOST_VALUES, Node, Tree, child_name
from auditor.intake.imported import Origin
from auditor.intake.json_text import read_json_text
from auditor.record.limits import DEFAULT
from auditor.record.pointer import join
from auditor.record.position import decoded, events

_ORIGIN = "ietf-origin:origin"
_ONE_CARD = "Check that this is the export of one card."


def read_json(text: bytes, file: str) -> Tree:
    """Return the tree of a JSON text.

    Raises:
        InputError: if it is no JSON that may be used, has doubled names, or only tells of errors.
    """
    if len(text) > DEFAULT.record_bytes:
        problem = f"larger than {DEFAULT.record_bytes // 1024**2} MiB, the most for one source"
        raise InputError([Fault(file, "", 0, 0, problem, _ONE_CARD)])
    if sum(map(text.count, (b",", b"{", b"["))) > MOST_VALUES:
        raise InputError([Fault(file, "", 0, 0, f"more than {MOST_VALUES} values", _ONE_CARD)])
    document = read_json_text(text, file)
    if not isinstance(document, dict):
        raise InputError([Fault(file, "", 1, 1, "expected an object", "Give the data as the card sent it.")])
    reading = _Reading(file)
    unplaced = tuple(reading.inside(document, ()))
    lines = _lines(decoded(text))
    top = Node("", Origin(file, 0, ""), children=tuple(_placed(node, lines) for node in unplaced))
    return Tree(top, operational=reading.operational)


@dataclass(slots=True)
class _Reading:
    """One pass over a document; its nodes have their pointers, but no lines yet."""

    file: str
    operational: bool = field(default=False)

    def inside(self, members: Mapping[str, Any], path: tuple[str | int, ...]) -> Iterator[Node]:
        """Yield the top members, through envelopes around them."""
        for name, value in members.items():
            local = name.rpartition(":")[2]
            if local == "errors":
                self._refuse((*path, name))
            if local in ENVELOPES and isinstance(value, dict):
                yield from self.inside(value, (*path, name))
            else:
                yield from self.nodes(name, value, module="", path=(*path, name))

    def nodes(self, name: str, value: object, *, module: str, path: tuple[str | int, ...]) -> Iterator[Node]:
        """Yield a member as nodes: one, or one for each entry of a list or leaf-list."""
        if name.startswith("@"):
            self.operational = self.operational or (isinstance(value, dict) and _ORIGIN in value)
            return
        own, _, local = name.rpartition(":")
        shown = child_name(own or module, local, module)
        if isinstance(value, list) and value != [None]:
            for index, item in enumerate(value):
                yield self._node(shown, item, module=own or module, path=(*path, index))
        else:
            yield self._node(shown, value, module=own or module, path=path)

    def _node(self, name: str, value: object, *, module: str, path: tuple[str | int, ...]) -> Node:
        origin = Origin(self.file, 0, join(path))
        if not isinstance(value, dict):
            return Node(name, origin, _text(value))
        inner = (self.nodes(key, item, module=module, path=(*path, key)) for key, item in value.items())
        return Node(name, origin, children=tuple(node for nodes in inner for node in nodes))

    def _refuse(self, path: tuple[str | int, ...]) -> NoReturn:
        problem = "the reply tells of errors and not of settings"
        remedy = "Ask the card again, with an account that may read its settings."
        raise InputError([Fault(self.file, join(path), 0, 0, problem, remedy)])


def _text(value: object) -> str:
    """Return a value as XML writes it; an empty leaf, ``[null]``, has no text (RFC 7951 section 6.9)."""
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value) if isinstance(value, (int, float)) else ""


def _lines(source: str) -> Mapping[str, int]:
    """Return the line of every value by its pointer, in one pass however many there are."""
    lines: dict[str, int] = {}
    path: list[str | int] = []
    line, last = 1, 0
    for kind, start, token in events(source):
        if kind in ("open", "scalar"):
            line, last = line + source.count("\n", last, start), start
            lines[join(path)] = line
        if kind == "open":
            path.append(0)
        elif kind == "close":
            path.pop()
        elif kind == "name":
            path[-1] = str(json.loads(token))
        elif kind == "comma" and isinstance(path[-1], int):
            path[-1] += 1
    return lines


def _placed(node: Node, lines: Mapping[str, int]) -> Node:
    origin = Origin(node.origin.file, lines[node.origin.at], node.origin.at)
    return Node(node.name, origin, node.text, tuple(_placed(child, lines) for child in node.children))
