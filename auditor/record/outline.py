"""The settings that the schema of a record knows, flat and in its order, as people are asked for them.

Says what each is called, what it means and what it allows; reads and writes no values.
"""

from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from auditor.dataclass import dataclass
from auditor.record.expected import expected
from auditor.record.schema import card_schema

ANY = "*"
"""The token that stands for any member of a list."""

UNITS = {
    "_percent": "%",
    "_days": "days",
    "_min": "min",
    "_s": "s",
    "_c": "°C",
    "bits": "bit",
    "prefix_length": "bit",
}
"""Unit by the end of a setting's name: DESIGN.md section 3 keeps units in names."""

_KELVIN = "temperature_hysteresis_c"  # a difference of temperatures, not a temperature
_KINDS = {"integer": "number", "number": "number", "boolean": "boolean", "string": "text"}


@dataclass(frozen=True, slots=True)
class Leaf:
    """One setting that is asked for as one.

    ``tokens`` are those of its pointer, ``ANY`` for any member of a list. ``kind`` is
    ``boolean``, ``number``, ``text``, ``words`` (a list of them), ``secret``, ``sources``, or
    ``members``: a list of objects, whose own settings follow. ``titles`` are those of what
    encloses it, outermost first. ``values`` are the allowed words, if the schema lists them;
    ``allowed`` says in plain words what is allowed. ``shown`` is true when a value may stand
    in a report. ``format`` is ``date``, ``date-time`` or empty; ``node`` the part of the schema.
    """

    tokens: tuple[str, ...]
    kind: str
    titles: tuple[str, ...]
    title: str
    description: str
    unit: str
    values: tuple[str, ...]
    allowed: str
    shown: bool
    format: str
    node: Mapping[str, Any]


@cache
def outline() -> tuple[Leaf, ...]:
    """Return every setting of a record but ``/schema``, in the order of the schema."""
    return tuple(_leaves(card_schema(), (), ()))


@cache
def leaf_at(tokens: tuple[str, ...]) -> Leaf | None:
    """Return the setting at a place, list indexes written as ``ANY``, or None if there is none."""
    return _by_tokens().get(tokens)


def sealed_parts(leaf: Leaf) -> tuple[Leaf, ...]:
    """Return what may be asked of a secret without asking for it: its length, and how guessable it is."""
    (sealed,) = (
        branch["properties"]["sealed"] for branch in leaf.node["oneOf"] if "sealed" in branch["properties"]
    )
    inside = (*leaf.titles, leaf.title)
    return tuple(_leaf(sealed["properties"][name], (*leaf.tokens, "sealed", name), inside) for name in SEALED)


SEALED = ("length", "listed")
"""The members of a sealed secret that a person can know."""


def unit_of(name: str) -> str:
    """Return the unit that the name of a setting states, or an empty text."""
    if name == _KELVIN:
        return "K"
    return next((unit for end, unit in UNITS.items() if name.endswith(end)), "")


@cache
def _by_tokens() -> Mapping[tuple[str, ...], Leaf]:
    return {leaf.tokens: leaf for leaf in outline()}


def _leaves(node: Mapping[str, Any], tokens: tuple[str, ...], titles: tuple[str, ...]) -> Iterator[Leaf]:
    for name, raw in _members(node).items():
        member = _followed(raw)
        at = (*tokens, name)
        if at == ("schema",):
            continue
        if _is_plain_object(member):
            yield from _leaves(member, at, (*titles, member["title"]))
        else:
            yield _leaf(member, at, titles)
            if _kind(member) == "members":
                yield from _leaves(_followed(member["items"]), (*at, ANY), (*titles, member["title"]))


def _members(node: Mapping[str, Any]) -> dict[str, Any]:
    """Return the members of an object, or of all branches of a choice of objects."""
    branches = node.get("oneOf", (node,))
    return {name: member for branch in branches for name, member in branch["properties"].items()}


def _followed(node: Mapping[str, Any]) -> Mapping[str, Any]:
    if "$ref" not in node:
        return node
    name = node["$ref"].removeprefix("#/$defs/")
    return {**card_schema()["$defs"][name], "definition": name, **node}


def _is_plain_object(node: Mapping[str, Any]) -> bool:
    return ("oneOf" in node or node.get("type") == "object") and "definition" not in node


def _leaf(node: Mapping[str, Any], tokens: tuple[str, ...], titles: tuple[str, ...]) -> Leaf:
    inner = _followed(node["items"]) if "items" in node else node
    return Leaf(
        tokens=tokens,
        kind=_kind(node),
        titles=titles,
        title=node["title"],
        description=node["description"],
        unit=unit_of(tokens[-1]),
        values=tuple(inner.get("enum", ())),
        allowed=_allowed(_kind(node), inner),
        shown=bool(inner.get("shown", False)),
        format=str(inner.get("format", "")),
        node=node,
    )


def _kind(node: Mapping[str, Any]) -> str:
    if node.get("definition") in ("secret", "sources"):
        return str(node["definition"])
    if "items" in node:
        return "members" if _is_plain_object(_followed(node["items"])) else "words"
    return "boolean" if "const" in node else _KINDS[node["type"]]


_ALLOWED = {
    "boolean": "yes or no",
    "sources": "any, nobody, or prefixes such as 192.0.2.0/24, separated by ;",
    "secret": "a secret, in one of its forms",
    "members": "none, or how many there are",
}


def _allowed(kind: str, node: Mapping[str, Any]) -> str:
    if "const" in node:
        return "yes, or leave it out"
    if kind == "words":
        return f"none, or any of: {'; '.join(node['enum'])}" if "enum" in node else f"none, or {_texts(node)}"
    if kind == "text" and "enum" in node:
        return ", ".join(node["enum"])
    return _ALLOWED.get(kind) or expected(node)


def _texts(node: Mapping[str, Any]) -> str:
    return f"{expected(node)}; several separated by ;"
