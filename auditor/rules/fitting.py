"""Does a comparison fit what it compares? Kinds of settings, facts, parameters and operands.

A comparison that could never hold, or never fail, is an author's slip: it is told when the
ruleset is read, and not found years later. Holds no reading of conditions: see ``parsing``.
"""

from collections.abc import Mapping, Sequence
from types import NoneType, UnionType
from typing import Any, get_args, get_origin

from auditor.facts.fact import Fact
from auditor.record.nearest import nearest
from auditor.record.schema import Place
from auditor.rules.fault import RuleFault
from auditor.rules.operator import OPERATORS, Operator

# Beyond it, readers of JSON may lose the last digits. Source: RFC 8259 section 6.
_LARGEST = 2**53

_OPERAND_TYPES: Mapping[str, tuple[type, ...]] = {
    "scalar": (str, int, float, bool),
    "number": (int, float),
    "list": (tuple,),
    "truth": (bool,),
    "true": (bool,),
}
_OPERAND_EXAMPLES = {
    "scalar": 'Write one value: a text such as "tls_1_2", a number, true or false.',
    "number": "Write a number without quotes or unit, such as 900.",
    "list": 'Write a list, such as ["tls_1_2", "tls_1_3"].',
    "truth": "Write true or false.",
    "true": "Write true; for what is not known no rule can ask.",
}
_VALUE_NAMES = {
    "boolean": "true or false",
    "number": "a number without quotes or unit",
    "text": "a text in quotation marks",
    "list": "a list in square brackets",
}
_VALUE_KINDS = {
    "scalar": ("boolean", "number", "text"),
    "number": ("number",),
    "list": ("list",),
    "any": ("boolean", "number", "text", "list"),
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
    if operator.operand_kind in ("truth", "true"):
        return []
    return _faults_of_words(place, operand, at)


def faults_of_value(place: Place | None, value: object, at: tuple[str | int, ...]) -> list[RuleFault]:
    """Return what is wrong with putting this value at a place of the record.

    Lists stand as tuples. Secrets, objects and lists of objects are not looked into.
    """
    if place is None or place.kind not in _VALUE_NAMES or place.item == "object":
        return []
    wrong = _faults_of_items(value, at)
    if not wrong and isinstance(value, tuple) is not (place.kind == "list"):
        return [RuleFault(at, f"this setting is a {place.kind}", f"Write {_VALUE_NAMES[place.kind]}.")]
    return wrong or _faults_of_words(place, value, at)


def faults_of_document(document: object, at: tuple[str | int, ...] = ()) -> list[RuleFault]:
    """Return the values of a TOML document that no setting can have: times, nan, huge numbers."""
    if isinstance(document, Mapping):
        return [fault for key, item in document.items() for fault in faults_of_document(item, (*at, key))]
    if isinstance(document, list):
        return [fault for n, item in enumerate(document) for fault in faults_of_document(item, (*at, n))]
    return _faults_of_items(document, at)


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
    misfit = (kind == "number" and isinstance(operand, bool)) or (kind == "true" and operand is False)
    if misfit or not isinstance(operand, _OPERAND_TYPES[kind]):
        return [RuleFault(at, f"{operator.name} takes a {kind}", _OPERAND_EXAMPLES[kind])]
    return _faults_of_items(operand, at)


def _faults_of_items(value: object, at: tuple[str | int, ...]) -> list[RuleFault]:
    return [fault for where, item in _places(value, at) if (fault := _fault_of_item(item, where))]


def _fault_of_item(item: object, at: tuple[str | int, ...]) -> RuleFault | None:
    if not isinstance(item, str | int | float):
        return RuleFault(at, "expected a text, a number, true or false", "Write dates and times as text.")
    if not isinstance(item, str) and not -_LARGEST < item < _LARGEST:  # neither is nan
        return RuleFault(
            at, "expected a number of at most 15 digits", "Write the number itself, such as 900."
        )
    return None


def _faults_of_words(place: Place, operand: object, at: tuple[str | int, ...]) -> list[RuleFault]:
    kind = place.item if place.kind == "list" else place.kind
    if kind == "object":
        return [
            RuleFault(at, "the members of this list are no single values", "Use every or some with meets.")
        ]
    faults = []
    for where, item in _places(operand, at):
        if kind and _KINDS[type(item)] != kind:
            faults.append(RuleFault(where, f"a {kind} is never {_quoted(item)}", f"Compare with a {kind}."))
        elif place.values and item not in place.values:
            faults.append(RuleFault(where, f"it is never {_quoted(item)}", nearest(str(item), place.values)))
    return faults


def _places(value: object, at: tuple[str | int, ...]) -> list[tuple[tuple[str | int, ...], object]]:
    return [((*at, n), item) for n, item in enumerate(value)] if isinstance(value, tuple) else [(at, value)]


def _quoted(item: object) -> str:
    return str(item).lower() if isinstance(item, bool) else repr(item)


def _fitting(kind: str) -> str:
    fitting = [name for name, operator in OPERATORS.items() if kind in _VALUE_KINDS[operator.value_kind]]
    if fitting:
        return f"A {kind} takes {', '.join(fitting)}."
    return "No comparison fits it; use a fact, or a setting inside it."
