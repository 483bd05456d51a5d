"""Does a comparison fit what it compares? Kinds of settings, facts, parameters and operands.

A comparison that could never hold, or never fail, is an author's slip: it is told when the
ruleset is read, and not found years later. Holds no reading of conditions: see ``parsing``.
"""

from collections.abc import Mapping, Sequence
from math import isfinite
from types import NoneType, UnionType
from typing import Any, get_args, get_origin

from auditor.facts.fact import Fact
from auditor.record.schema import Place
from auditor.rules.fault import RuleFault, nearest
from auditor.rules.operator import OPERATORS, Operator

_OPERAND_TYPES: Mapping[str, tuple[type, ...]] = {
    "scalar": (str, int, float, bool),
    "number": (int, float),
    "list": (tuple,),
    "truth": (bool,),
}
_OPERAND_EXAMPLES = {
    "scalar": 'Write one value: a text such as "tls_1_2", a number, true or false.',
    "number": "Write a number without quotes or unit, such as 900.",
    "list": 'Write a list, such as ["tls_1_2", "tls_1_3"].',
    "truth": "Write true or false.",
}
_VALUE_KINDS = {
    "scalar": ("boolean", "number", "text"),
    "number": ("number",),
    "list": ("list",),
}
_KINDS: Mapping[Any, str] = {
    bool: "boolean",
    int: "number",
    float: "number",
    str: "text",
    list: "list",
    tuple: "list",
    frozenset: "list",
    Sequence: "list",
}


def faults_of_fit(
    place: Place | None, operator: Operator, operand: object, at: tuple[str | int, ...]
) -> list[RuleFault]:
    """Return what is wrong with comparing this place with this operand, at most one fault an item.

    ``place`` says what is compared (None: that is not known, and only the operand is checked).
    ``operand`` has its lists as tuples. ``at`` is the path of the operand in the document.
    """
    wrong = _faults_of_operand(operator, operand, at)
    if wrong or place is None:
        return wrong
    if place.kind not in _VALUE_KINDS[operator.value_kind]:
        return [RuleFault(at, f"{operator.name} does not fit a {place.kind}", _fitting(place.kind))]
    if operator.operand_kind == "truth":
        return []
    return _faults_of_words(place, operand, at)


def place_of_fact(fact: Fact) -> Place | None:
    """Return what is known of a fact's value, from the annotation of its function.

    None where the annotation names no kind, or several.
    """
    returned = fact.compute.__annotations__.get("return")
    parts = get_args(returned) if isinstance(returned, UnionType) else (returned,)
    kinds = {
        (_KINDS.get(get_origin(part) or part, ""), _item_kind(part)) for part in parts if part is not NoneType
    }
    kind, item = kinds.pop() if len(kinds) == 1 else ("", "")
    return Place(kind, fact.name, (), item, shown=True) if kind else None


def place_of_value(name: str, value: object) -> Place:
    """Return what is known of a parameter's value."""
    item = _KINDS[type(value[0])] if isinstance(value, tuple | list) and value else ""
    return Place(_KINDS[type(value)], name, (), item, shown=True)


def _item_kind(annotation: object) -> str:
    items = get_args(annotation)
    return _KINDS.get(items[0], "") if items else ""


def _faults_of_operand(operator: Operator, operand: object, at: tuple[str | int, ...]) -> list[RuleFault]:
    kind = operator.operand_kind
    if not isinstance(operand, _OPERAND_TYPES[kind]) or (kind == "number" and isinstance(operand, bool)):
        return [RuleFault(at, f"{operator.name} takes a {kind}", _OPERAND_EXAMPLES[kind])]
    items = operand if isinstance(operand, tuple) else (operand,)
    return [
        RuleFault(place, "expected a text, a number, true or false", "Write dates and times as text.")
        for place, item in _places(operand, items, at)
        if not isinstance(item, str | int | float) or (isinstance(item, float) and not isfinite(item))
    ]


def _faults_of_words(place: Place, operand: object, at: tuple[str | int, ...]) -> list[RuleFault]:
    kind = place.item if place.kind == "list" else place.kind
    if kind == "object":
        return [
            RuleFault(at, "the members of this list are no single values", "Use every or some with meets.")
        ]
    items = operand if isinstance(operand, tuple) else (operand,)
    faults = []
    for where, item in _places(operand, items, at):
        if kind and _KINDS[type(item)] != kind:
            faults.append(RuleFault(where, f"a {kind} is never {_quoted(item)}", f"Compare with a {kind}."))
        elif place.values and item not in place.values:
            faults.append(RuleFault(where, f"it is never {_quoted(item)}", nearest(str(item), place.values)))
    return faults


def _places(
    operand: object, items: Sequence[object], at: tuple[str | int, ...]
) -> list[tuple[tuple[str | int, ...], object]]:
    if isinstance(operand, tuple):
        return [((*at, index), item) for index, item in enumerate(items)]
    return [(at, operand)]


def _quoted(item: object) -> str:
    return str(item).lower() if isinstance(item, bool) else repr(item)


def _fitting(kind: str) -> str:
    fitting = [name for name, operator in OPERATORS.items() if kind in _VALUE_KINDS[operator.value_kind]]
    if fitting:
        return f"A {kind} takes {', '.join(fitting)}."
    return "No comparison fits it; use a fact, or a setting inside it."
