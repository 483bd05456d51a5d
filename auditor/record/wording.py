"""Errors against a JSON Schema, in plain English: what was found, what is allowed, what to do.

A value is repeated only where the schema marks the place ``"shown": true``, or so marks itself as
a whole, since it is of files without secrets. ``"remedy"`` in a schema says what to do. Serves any schema
in the keywords that ours use, records and rulesets alike. Slow to import: callers that find no
fault never need it.
"""

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from functools import cache
from typing import Any, TypeAlias

import jsonschema_rs
import orjson
from jsonschema import Draft202012Validator, ValidationError
from jsonschema.protocols import Validator
from jsonschema.validators import extend

from auditor.record.expected import expected, found, joined, quoted
from auditor.record.mask import LEAVE_OUT, MASKED, is_masked
from auditor.record.nearest import close_word, nearest

Path: TypeAlias = tuple[str | int, ...]
Words: TypeAlias = tuple[Path, str, str]
"""A place, the problem there, and the remedy."""

Schema: TypeAlias = Mapping[str, Any]

UNKNOWN = "no such member"

CLEAR = "clear"
"""The member that tells the choice of the forms of a secret from any other choice."""


def describe_errors(document: object, schema: Schema) -> Iterator[Words]:
    """Yield the path, problem and remedy of every place that departs from the schema.

    One error a place, in the order of the schema; the path of a missing member ends in its
    name. Yields nothing exactly if the compiled validator accepts the document.
    """
    seen: set[Path] = set()
    for error in _Validator(schema).iter_errors(document):
        for words in _describe(error, schema):
            if words[0] not in seen:
                seen.add(words[0])
                yield words


def _describe(error: ValidationError, root: Schema) -> Iterator[Words]:
    path = tuple(error.absolute_path)
    if _value(error) is None:
        yield path, "null is refused", "Leave the member out if it is unknown."
    elif error.validator in ("oneOf", "anyOf"):
        yield from _describe_choice(error, root)
    else:
        named = (str(_value(error)),) if "propertyNames" in error.relative_schema_path else ()
        describe = _KEYWORDS.get(str(error.validator), _describe_mismatch)
        yield from describe(error, (*path, *named), _annotated(error, root))


def _annotated(error: ValidationError, root: Schema) -> Schema:
    """Return the schema that was departed from, with what is said where it is referred to.

    An item that is not described is what its list is described as. The path of an error passes
    through references without naming them. Inside a secret nothing is shown, not even what is
    marked: a secret may stand in the wrong member of its object.
    """
    node: Any = root
    whole = {"shown": root["shown"]} if "shown" in root else {}
    secret: Schema = {}
    listed: Schema = {}
    for step in error.absolute_schema_path:
        around: Schema = {}
        while step not in node and "$ref" in node:
            around, node = {**around, **node}, _followed(node, root)
        parent, node = node, node[step]
        if step in ("items", "properties"):
            listed = {key: parent[key] for key in ("description",) if step == "items" and key in parent}
        if step == "oneOf" and CLEAR in _names(node):
            secret = {"shown": False}
    return {**whole, **listed, **parent, **around, **secret}


def _value(error: ValidationError) -> Any:  # noqa: ANN401 - any JSON value
    return error.instance


def _operand(error: ValidationError) -> Any:  # noqa: ANN401 - whatever stands at the keyword
    return error.validator_value


def _describe_mismatch(error: ValidationError, path: Path, schema: Schema) -> Iterator[Words]:
    yield path, _mismatch(error, schema), _remedy(error, schema)


def _mismatch(error: ValidationError, schema: Schema) -> str:
    value = _value(error)
    shown = schema.get("shown", False) and _is_of_kind(value, schema)
    return f"expected {expected(schema)}; found {found(value, shown=shown)}"


def _is_of_kind(value: object, schema: Schema) -> bool:
    """Tell whether a value is of the kind that belongs here; one that is not may be anything."""
    kind = schema.get("type", "string" if isinstance(schema.get("const"), str) else "boolean")
    return Draft202012Validator({"type": kind}).is_valid(value)


def _remedy(error: ValidationError, schema: Schema) -> str:
    if error.validator == "type":
        return _TYPE_REMEDIES.get(str(_operand(error)), "Write a value of this kind.")
    if "remedy" in schema:
        return str(schema["remedy"])
    if error.validator == "const":
        return _right_constant(_value(error), schema["const"])
    close = close_word(str(_value(error)), schema.get("enum", ()))
    if close:
        return f"Did you mean {close}?"
    about = schema.get("description")
    return f"What belongs here: {about}" if about else "Write a value of this form."


def _right_constant(value: object, constant: str | float) -> str:
    """Say what to write; a schema of ours with another number was written by another version of us."""
    stem = str(constant).rpartition("-")[0]
    if stem and re.fullmatch(rf"{re.escape(stem)}-[0-9]+", str(value)):
        return "Use the version of witnessmark that wrote it, or export it again."
    return f"Write {quoted(constant)}."


_TYPE_REMEDIES = {
    "boolean": "Write true or false, without quotation marks.",
    "integer": "Write the number alone, without quotation marks or unit.",
    "number": "Write the number alone, without quotation marks or unit.",
    "string": "Write it in quotation marks.",
    "array": "Write a list: [ … ].",
    "object": "Write an object: { … }.",
}


def _describe_unknown(error: ValidationError, path: Path, schema: Schema) -> Iterator[Words]:
    known = schema.get("properties", {})
    for name in _value(error):
        if name not in known:
            yield (*path, name), UNKNOWN, nearest(name, known)


def _describe_missing(error: ValidationError, path: Path, schema: Schema) -> Iterator[Words]:
    for name in _operand(error):
        if name not in _value(error):
            yield (*path, name), "this member is missing", _addition(name, schema["properties"][name])


def _addition(name: str, schema: Schema) -> str:
    if "const" in schema:
        return f'Add "{name}": {quoted(schema["const"])}.'
    about = schema.get("description")
    return f'Add "{name}". {about}' if about else f'Add "{name}".'


def _describe_repeats(error: ValidationError, path: Path, _schema: Schema) -> Iterator[Words]:
    written = [orjson.dumps(item, option=orjson.OPT_SORT_KEYS) for item in _value(error)]
    first = {item: index for index, item in reversed(list(enumerate(written)))}
    again: list[Path] = [(index,) for index, item in enumerate(written) if first[item] != index]
    for at in again or [()]:
        yield (*path, *at), "an item stands twice in the list", "Remove one of the two."


def _describe_format(error: ValidationError, path: Path, schema: Schema) -> Iterator[Words]:
    begins_with_day = re.match(r"[0-9]{4}-[0-9]{2}-[0-9]{2}", str(_value(error)))
    remedy = "There is no such day or time: correct it." if begins_with_day else _remedy(error, schema)
    yield path, _mismatch(error, schema), remedy


def _describe_length(error: ValidationError, path: Path, schema: Schema) -> Iterator[Words]:
    wordless = not _value(error) and "remedy" not in schema
    remedy = "Leave the member out if it is unknown." if wordless else _remedy(error, schema)
    yield path, _mismatch(error, schema), remedy


def _describe_count(error: ValidationError, path: Path, _schema: Schema) -> Iterator[Words]:
    bound = "at most" if error.validator in ("maxItems", "maxProperties") else "at least"
    what = "items" if error.validator in ("maxItems", "minItems") else "members"
    what = what.removesuffix("s") if _operand(error) == 1 else what
    problem = f"expected {bound} {_operand(error)} {what}; found {len(_value(error))}"
    yield path, problem, f"Write {bound} {_operand(error)}."


_KEYWORDS: Mapping[str, Callable[[ValidationError, Path, Schema], Iterator[Words]]] = {
    "additionalProperties": _describe_unknown,
    "required": _describe_missing,
    "uniqueItems": _describe_repeats,
    "format": _describe_format,
    "minLength": _describe_length,
    "minItems": _describe_count,
    "maxItems": _describe_count,
    "minProperties": _describe_count,
    "maxProperties": _describe_count,
}


def _describe_choice(error: ValidationError, root: Schema) -> Iterator[Words]:
    """Word the errors of the one branch that is meant, if that is clear; else word the choice."""
    branches = [_followed(branch, root) for branch in _operand(error)]
    parts = error.context or ()
    meant = [i for i in range(len(branches)) if not any(_rules_out(part, i) for part in parts)]
    if len(meant) != 1 or not parts:
        yield tuple(error.absolute_path), *_choice(_value(error), branches)
        return
    for part in (part for part in parts if part.relative_schema_path[0] == meant[0]):
        for words in _describe(part, root):
            yield _in_choice(part, words, branches)


def _rules_out(part: ValidationError, branch: int) -> bool:
    here = part.relative_schema_path[0] == branch and not part.relative_path
    return here and part.validator in ("type", "required", "not")


def _followed(branch: Schema, root: Schema) -> Schema:
    name = str(branch.get("$ref", "")).removeprefix("#/$defs/")
    return root["$defs"][name] if name else branch


def _in_choice(part: ValidationError, words: Words, branches: Sequence[Schema]) -> Words:
    """Mend the words of an error inside one branch where the other branches matter."""
    path, problem, _ = words
    names = _names(branches)
    other = next((name for name in names if name in _value(part)), "") if _is_object(part) else ""
    if problem == UNKNOWN and other and any(path[-1] in b.get("properties", ()) for b in branches):
        return path, f"this can't stand beside {other}", f"Keep either this or {other}."
    if part.validator == "minLength" and "empty" in names:
        return path, problem, 'Write {"empty": true} if the secret is the empty text.'
    return words


def _is_object(part: ValidationError) -> bool:
    return isinstance(_value(part), dict)


def _names(branches: Sequence[Schema]) -> list[str]:
    return [name for branch in branches for name in branch.get("required", ())]


def _choice(value: object, branches: Sequence[Schema]) -> tuple[str, str]:
    names = _names(branches)
    if len(names) < len(branches):
        allowed = ", or ".join(dict.fromkeys(expected(branch) for branch in branches))
        return f"expected {allowed}; found {found(value, shown=False)}", "Write a value of this kind."
    wanted = f"expected an object with exactly one of {', '.join(names)}"
    if not isinstance(value, dict):
        return f"{wanted}; found {found(value, shown=False)}", _wrapping(value, names, branches)
    present = [name for name in names if name in value]
    if present:
        return f"{wanted}; found {joined(present, 'and')}", "Keep the one that is true of the card."
    return f"{wanted}; found none of them", "Add one, or leave the whole member out if it is unknown."


def _wrapping(value: object, names: Sequence[str], branches: Sequence[Schema]) -> str:
    """Say how to write a bare value as one of the objects, without repeating it."""
    if isinstance(value, str) and is_masked(value):
        return f"{MASKED[0].upper()}{MASKED[1:]}. {LEAVE_OUT}"
    if value == "" and "empty" in names:
        return 'Write {"empty": true}.'
    for name, branch in zip(names, branches, strict=True):
        sign = _sign(branch.get("properties", {}).get(name, {}), value)
        if sign:
            return f'Write {{"{name}": {sign}}}.'
    return f'Write an object, for example {{"{names[0]}": … }}.'


def _sign(schema: Schema, value: object) -> str:
    if schema.get("const") is True and value is True:
        return "true"
    kinds = {"string": (str, '"…"'), "array": (list, "[ … ]")}
    kind, sign = kinds.get(schema.get("type", ""), (type(None), ""))
    return sign if isinstance(value, kind) else ""


def _pattern(_: Validator, pattern: str, value: object, __: Schema) -> Iterator[ValidationError]:
    """Leave the decision to the compiled validator: the expressions of Python differ from its."""
    if isinstance(value, str) and not _single("pattern", pattern).is_valid(value):
        yield ValidationError("pattern")


def _unique(_: Validator, wanted: bool, value: object, __: Schema) -> Iterator[ValidationError]:  # noqa: FBT001 - the form of a keyword
    if wanted and not _single("uniqueItems", wanted).is_valid(value):
        yield ValidationError("uniqueItems")


def _format(_: Validator, name: str, value: object, __: Schema) -> Iterator[ValidationError]:
    if isinstance(value, str) and not _single("format", name).is_valid(value):
        yield ValidationError("format")


@cache
def _single(keyword: str, value: object) -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator({keyword: value}, validate_formats=True)


_KEYWORD_CHECKS = {"pattern": _pattern, "format": _format, "uniqueItems": _unique}
_Validator = extend(Draft202012Validator, _KEYWORD_CHECKS)  # type: ignore[no-untyped-call]  # has no types
