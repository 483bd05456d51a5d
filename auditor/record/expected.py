"""What a JSON Schema allows and what a value is, in a few plain words. Judges nothing."""

import json
from collections.abc import Mapping, Sequence
from typing import Any

LONGEST_SHOWN = 40
"""Characters of a value that a message repeats at most; our own figure."""

_TYPES = {
    "boolean": "true or false",
    "integer": "a whole number",
    "number": "a number",
    "string": "text",
    "array": "a list",
    "object": "an object",
    "null": "null",
}
_FORMATS = {
    "date": "a date such as 2026-11-25",
    "date-time": "a date and time with its offset, such as 2026-11-25T12:00:00+00:00",
}


def expected(schema: Mapping[str, Any]) -> str:
    """Word what a schema allows at one place; its references must have been followed."""
    if "const" in schema:
        return quoted(schema["const"])
    if "enum" in schema:
        return f"one of {', '.join(str(word) for word in schema['enum'])}"
    kinds = schema.get("type", ())
    if isinstance(kinds, str):
        return _one_type(kinds, schema)
    return joined([_one_type(kind, schema) for kind in kinds], "or") or "something else"


def _one_type(kind: str, schema: Mapping[str, Any]) -> str:
    if kind in ("integer", "number"):
        return _TYPES[kind] + _span(", ", schema.get("minimum"), schema.get("maximum"), "")
    if kind == "string":
        return _text(schema)
    if kind == "array":
        return _TYPES[kind] + _span(" of ", schema.get("minItems"), schema.get("maxItems"), " items")
    return _TYPES[kind]


def _text(schema: Mapping[str, Any]) -> str:
    if schema.get("format") in _FORMATS:
        return _FORMATS[schema["format"]]
    if "examples" in schema:
        return f"text such as {schema['examples'][0]}"
    if "pattern" in schema:
        return "text of the form below"
    return "text" + _span(" of ", schema.get("minLength"), schema.get("maxLength"), " characters")


def _span(before: str, least: float | None, most: float | None, after: str) -> str:
    if least is None and most is None:
        return ""
    if most is None:
        return f"{before}at least {least}{after}"
    if least is None:
        return f"{before}at most {most}{after}"
    return f"{before}{least} to {most}{after}"


def found(value: object, *, shown: bool) -> str:
    """Word what a value is: itself, shortened, if it may be shown; else only its kind."""
    if value is None or isinstance(value, bool) or (shown and isinstance(value, (str, int, float))):
        return quoted(value)
    kind, empty_kind = _KINDS.get(type(value), ("a value of another kind", ""))
    return empty_kind if value in ("", [], {}) else kind


_KINDS: Mapping[type, tuple[str, str]] = {
    str: ("text", "empty text"),
    int: ("a number", ""),
    float: ("a number", ""),
    list: ("a list", "an empty list"),
    dict: ("an object", "an empty object"),
}


def quoted(value: str | float | None) -> str:
    """Write a scalar as JSON, shortened, characters that do not print by their number."""
    if not isinstance(value, str):
        return json.dumps(value)
    short = value if len(value) <= LONGEST_SHOWN else value[: LONGEST_SHOWN - 1] + "…"
    plain = (
        c if c.isprintable() else f"\\u{ord(c):04x}" for c in short.replace("\\", "\\\\").replace('"', '\\"')
    )
    return f'"{"".join(plain)}"'


def joined(words: Sequence[str], last: str) -> str:
    """Join words with commas, and with ``last`` before the last one."""
    if len(words) < 2:  # noqa: PLR2004 - two make a pair
        return "".join(words)
    return f"{', '.join(words[:-1])} {last} {words[-1]}"
