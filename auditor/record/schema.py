"""The schema of a record, and what it says of a place in one; does not validate."""

from collections.abc import Iterator, Mapping, Sequence
from functools import cache
from typing import Any

import orjson

from auditor.dataclass import dataclass
from auditor.packaged import packaged

SCHEMA_NAME = "witnessmark/card-1"


@dataclass(frozen=True, slots=True)
class Place:
    """What the schema says of one place.

    ``kind`` is ``object``, ``list``, ``boolean``, ``number``, ``text``, ``secret`` or
    ``sources``. ``values`` are the allowed words, if the schema lists them. ``item`` is the
    kind of a list's items. ``shown`` is true when a value may stand in a report.
    """

    kind: str
    title: str
    values: tuple[str, ...]
    item: str
    shown: bool


@cache
def card_schema() -> Mapping[str, Any]:
    """Return the JSON Schema (2020-12) of a record."""
    text = packaged("record", "card-1.schema.json").read_bytes()
    schema: Mapping[str, Any] = orjson.loads(text)
    return schema


@cache
def place_at(tokens: tuple[str, ...]) -> Place | None:
    """Return what the schema says of a place, or None if it knows no such place.

    A list index stands for any member: ``("accounts", "0", "name")``.
    """
    nodes = _nodes_at(tokens)
    return _place(nodes) if nodes else None


@cache
def members_at(tokens: tuple[str, ...]) -> tuple[str, ...]:
    """Return the member names that the schema knows at a place, sorted."""
    found = {name for node in _nodes_at(tokens) for name in node.get("properties", {})}
    return tuple(sorted(found))


@cache
def _nodes_at(tokens: tuple[str, ...]) -> tuple[Mapping[str, Any], ...]:
    if not tokens:
        return tuple(_alternatives(card_schema()))
    return tuple(found for node in _nodes_at(tokens[:-1]) for found in _below(node, tokens[-1]))


def _below(node: Mapping[str, Any], token: str) -> Iterator[Mapping[str, Any]]:
    if token in node.get("properties", {}):
        inner = node["properties"][token]
        if token == "clear" and node.get("definition") == "secret":  # noqa: S105 - a member's name
            inner = {**inner, "definition": "secret"}  # no rule compares it: facts judge secrets
        yield from _alternatives(inner)
    elif "items" in node and token.isdecimal():
        yield from _alternatives(node["items"])


def _alternatives(node: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    """Yield the node with its reference followed, or each branch of its choice."""
    if "$ref" in node:
        name = node["$ref"].removeprefix("#/$defs/")
        whole = {**card_schema()["$defs"][name], "definition": name, **node}
        del whole["$ref"]
        yield from _alternatives(whole)
    elif "oneOf" in node:
        around = {key: value for key, value in node.items() if key != "oneOf"}
        for branch in node["oneOf"]:
            yield from _alternatives({**around, **branch})
    else:
        yield node


def _place(nodes: Sequence[Mapping[str, Any]]) -> Place:
    first = nodes[0]
    item = next((_kind(n) for n in _alternatives(first["items"])), "") if "items" in first else ""
    words = first.get("enum", ())
    shown = all(node.get("shown", False) for node in nodes)
    if "items" in first:
        shown = all(node.get("shown", False) for node in _alternatives(first["items"]))
    return Place(_kind(first), first.get("title", ""), tuple(words), item, shown)


_KINDS = {
    "object": "object",
    "array": "list",
    "boolean": "boolean",
    "integer": "number",
    "number": "number",
    "string": "text",
}


def _kind(node: Mapping[str, Any]) -> str:
    if node.get("definition") in ("secret", "sources"):
        return str(node["definition"])
    if "const" in node:
        return "boolean" if node["const"] is True else "text"
    return _KINDS[node["type"]]
