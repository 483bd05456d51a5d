"""Raw TOML conditions → conditions, checked against the record's schema and the facts.

Every fault is noted with its path, and reading goes on: an author mends a file once.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, TypeAlias

from auditor.facts.fact import Fact
from auditor.record.pointer import split
from auditor.record.schema import Place, members_at, place_at
from auditor.rules.condition import AllOf, AnyOf, Condition, Leaf, Negation, Quantified, Subject
from auditor.rules.fault import Faults, nearest
from auditor.rules.operator import OPERATORS, Operator

Path: TypeAlias = tuple[str | int, ...]

_JOINERS = ("all_of", "any_of", "not", "every", "some")
_NEVER = AnyOf(())
"""Stands in for a condition that could not be read; its fault is noted."""


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What a condition may name. ``member_list`` is the list that ``its`` is about, or empty."""

    facts: Mapping[str, Fact]
    parameters: Mapping[str, Any]
    faults: Faults
    member_list: tuple[str, ...] = ()


def parse_condition(raw: Any, path: Path, around: Surroundings) -> Condition:  # noqa: ANN401 - TOML value
    """Return the condition; what can't be read is noted in ``around.faults``."""
    if not isinstance(raw, Mapping):
        around.faults.add(path, "expected a condition (a table)", 'Write { at = "/…", equals = … }.')
        return _NEVER
    joiner = next((word for word in _JOINERS if word in raw), None)
    if joiner in ("all_of", "any_of"):
        return _parse_parts(joiner, raw, path, around)
    if joiner == "not":
        _refuse_others(raw, {"not"}, path, around)
        return Negation(parse_condition(raw["not"], (*path, "not"), around))
    if joiner:
        return _parse_quantified(joiner, raw, path, around)
    return _parse_leaf(raw, path, around)


def _parse_parts(joiner: str, raw: Mapping[str, Any], path: Path, around: Surroundings) -> Condition:
    _refuse_others(raw, {joiner}, path, around)
    parts = raw[joiner]
    if not isinstance(parts, list) or not parts:
        around.faults.add((*path, joiner), "expected a list of conditions", "Name at least one.")
        return _NEVER
    read = tuple(
        parse_condition(part, (*path, joiner, index), around) for index, part in enumerate(parts)
    )
    return AllOf(read) if joiner == "all_of" else AnyOf(read)


def _parse_quantified(joiner: str, raw: Mapping[str, Any], path: Path, around: Surroundings) -> Condition:
    _refuse_others(raw, {joiner, "meets"}, path, around)
    tokens = list_tokens(raw[joiner], (*path, joiner), around.faults)
    inner = Surroundings(around.facts, around.parameters, around.faults, tokens)
    part = parse_condition(raw.get("meets"), (*path, "meets"), inner)
    return Quantified(joiner == "every", str(raw[joiner]), tokens, part)


def list_tokens(pointer: Any, path: Path, faults: Faults) -> tuple[str, ...]:  # noqa: ANN401 - TOML value
    """Return the tokens of a pointer to a list of objects in a record, noting what is wrong."""
    tokens = _record_tokens(pointer, (), path, faults)
    place = place_at(tokens) if tokens else None
    if place and (place.kind, place.item) != ("list", "object"):
        faults.add(path, f"{pointer} is not a list of objects", "Name a list, such as /accounts.")
        return ()
    return tokens


def _parse_leaf(raw: Mapping[str, Any], path: Path, around: Surroundings) -> Condition:
    subjects = [word for word in Subject if word in raw]
    operators = [word for word in OPERATORS if word in raw]
    # "parameter" may be the subject or stand inside an operand, never both on one level.
    if len(subjects) != 1 or len(operators) != 1:
        unknown = [key for key in raw if key not in OPERATORS and key not in set(Subject)]
        known = (*OPERATORS, *Subject, *_JOINERS)
        remedy = nearest(unknown[0], known) if unknown else (
            "Name one of at, its, fact, parameter, and one comparison, such as equals."
        )
        around.faults.add(path, f"not a condition: {', '.join(raw) or 'empty'}", remedy)
        return _NEVER
    _refuse_others(raw, {*subjects, *operators}, path, around)
    subject, operator = subjects[0], OPERATORS[operators[0]]
    name = str(raw[subject])
    tokens = _subject_tokens(subject, raw[subject], (*path, subject), around)
    operand, parameter = _operand(raw[operator.name], (*path, operator.name), around)
    _check_fit(subject, tokens, operator, operand, path, around)
    return Leaf(subject, name, operator.name, operand, parameter, tokens)


def _subject_tokens(subject: Subject, name: Any, path: Path, around: Surroundings) -> tuple[str, ...]:  # noqa: ANN401
    match subject:
        case Subject.AT:
            return _record_tokens(name, (), path, around.faults)
        case Subject.ITS if not around.member_list:
            around.faults.add(path, "there is no member here", "Use its inside for_each, every or some.")
        case Subject.ITS:
            inner = _record_tokens(name, (*around.member_list, "0"), path, around.faults)
            return inner[len(around.member_list) + 1 :]
        case Subject.FACT:
            _check_fact(str(name), path, around)
        case Subject.PARAMETER if name not in around.parameters:
            around.faults.add(path, f"no parameter {name}", nearest(str(name), around.parameters))
    return ()


def _record_tokens(pointer: Any, base: tuple[str, ...], path: Path, faults: Faults) -> tuple[str, ...]:  # noqa: ANN401
    if not isinstance(pointer, str) or not pointer.startswith("/"):
        faults.add(path, "expected a JSON Pointer", "Write it with a slash first: /services/http.")
        return ()
    known = base
    for token in split(pointer):
        if place_at((*known, token)) is None or token.isdecimal():
            place = "/".join(("", *known))
            faults.add(path, f"the record has no {token} at {place}", nearest(token, members_at(known)))
            return ()
        known = (*known, token)
    return known


def _check_fact(name: str, path: Path, around: Surroundings) -> None:
    fact = around.facts.get(name)
    here = "/".join(("", *around.member_list)) if around.member_list else ""
    if fact is None:
        around.faults.add(path, f"no fact {name}", nearest(name, around.facts))
    elif fact.about and fact.about != here:
        around.faults.add(
            path, f"fact {name} is about members of {fact.about}", f'Use it with for_each = "{fact.about}".'
        )


def _operand(raw: Any, path: Path, around: Surroundings) -> tuple[Any, str]:  # noqa: ANN401 - TOML value
    if not isinstance(raw, Mapping):
        return (tuple(raw) if isinstance(raw, list) else raw), ""
    name = raw.get("parameter")
    if set(raw) != {"parameter"} or name not in around.parameters:
        around.faults.add(path, f"no parameter {name}", nearest(str(name), around.parameters))
        return None, ""
    value = around.parameters[name].value
    return (tuple(value) if isinstance(value, list) else value), str(name)


def _refuse_others(raw: Mapping[str, Any], allowed: set[str], path: Path, around: Surroundings) -> None:
    for key in raw:
        if key not in allowed:
            around.faults.add((*path, key), f"{key} does not belong here", nearest(key, allowed))


_OPERAND_TYPES = {
    "scalar": (str, int, float, bool),
    "number": (int, float),
    "list": (list, tuple),
    "truth": (bool,),
}
_VALUE_KINDS = {
    "scalar": ("boolean", "number", "text"),
    "number": ("number",),
    "list": ("list",),
}
_LITERAL_KINDS = {bool: "boolean", int: "number", float: "number", str: "text"}


def _check_fit(  # noqa: PLR0913 - all that a fit depends on
    subject: Subject, tokens: tuple[str, ...], operator: Operator, operand: Any,  # noqa: ANN401
    path: Path, around: Surroundings,
) -> None:  # fmt: skip
    at = (*path, operator.name)
    wanted = _OPERAND_TYPES[operator.operand_kind]
    wrong_number = operator.operand_kind == "number" and isinstance(operand, bool)
    if operand is not None and (not isinstance(operand, wanted) or wrong_number):
        around.faults.add(at, f"{operator.name} takes a {operator.operand_kind}", "Change the value.")
        return
    base = (*around.member_list, "0") if subject is Subject.ITS else ()
    place = place_at((*base, *tokens)) if tokens else None
    if place is None or operand is None:
        return
    if place.kind not in _VALUE_KINDS[operator.value_kind]:
        around.faults.add(at, f"{operator.name} does not fit a {place.kind}", "Use another comparison.")
        return
    _check_words(place, operator, operand, at, around)


def _check_words(place: Place, operator: Operator, operand: Any, at: Path, around: Surroundings) -> None:  # noqa: ANN401
    literals = operand if isinstance(operand, tuple) else (operand,)
    if operator.operand_kind == "truth":
        return
    kind = place.item if place.kind == "list" else place.kind
    for literal in literals:
        if _LITERAL_KINDS[type(literal)] != kind:
            around.faults.add(at, f"a {kind} is never {literal!r}", f"Compare with a {kind}.")
        elif place.values and literal not in place.values:
            around.faults.add(at, f"it is never {literal!r}", nearest(str(literal), place.values))
