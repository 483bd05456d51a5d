"""Whether one value may stand at one place of a record, so that an import loses it and not the record."""

from collections.abc import Mapping
from functools import cache
from typing import Any

import jsonschema_rs

from auditor.record.pointer import split
from auditor.record.schema import card_schema


def misfit(pointer: str, value: object) -> str:
    """Return why a value can't stand at a place of a record, without the value; empty if it can.

    A list index stands for any item.

    Raises:
        ValueError: if the schema knows no such place.
    """
    tokens = tuple("0" if token.isdecimal() else token for token in split(pointer))
    if _validator(tokens).is_valid(value):
        return ""
    from auditor.record.wording import describe_errors  # slow, needed for misfits only

    problem = next(problem for _, problem, _ in describe_errors(value, _schema(tokens)))
    return problem.partition("; found")[0]


@cache
def _validator(tokens: tuple[str, ...]) -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(_schema(tokens), validate_formats=True)


def _schema(tokens: tuple[str, ...]) -> dict[str, Any]:
    """Return the schema of one place as a schema of its own, with nothing marked as safe to show."""
    return {**_node(tokens), "shown": False, "$defs": card_schema()["$defs"]}


def _node(tokens: tuple[str, ...]) -> Mapping[str, Any]:
    node: Mapping[str, Any] = card_schema()
    for token in tokens:
        inner = node.get("items") if token == "0" else _members(node).get(token)  # noqa: S105
        if inner is None:
            raise ValueError(f"the schema of a record knows no {token} here: {tokens}")
        node = inner
    return node


def _members(node: Mapping[str, Any]) -> dict[str, Any]:
    """Return the members of an object, or of every branch of a choice of objects."""
    branches = node.get("oneOf", (node,))
    return {name: member for branch in branches for name, member in branch.get("properties", {}).items()}
