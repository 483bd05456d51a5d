"""The kinds of conversion that a map can name after ``as``, and which options go with each."""

from collections.abc import Mapping

from auditor.record.outline import Leaf

KINDS: Mapping[str, frozenset[str]] = {
    "text": frozenset(),
    "truth": frozenset({"yes", "no"}),
    "word": frozenset({"words"}),
    "number": frozenset({"unit", "decimal"}),
    "duration": frozenset({"unit", "decimal", "form"}),
    "address": frozenset(),
    "prefix_length": frozenset(),
    "prefix": frozenset(),
    "sources": frozenset({"any", "none", "split"}),
    "host": frozenset(),
    "port": frozenset(),
    "mac": frozenset(),
    "date": frozenset({"form"}),
    "moment": frozenset({"form", "offset"}),
    "secret": frozenset({"form", "none"}),
}
"""Options of each kind; ``unknown``, ``after`` and ``before`` go with all."""

LIST_OPTIONS = frozenset({"split", "none"})
"""Options of a setting that is a list of single values."""

SECRET_FORMS = ("clear", "crypt", "localized")
CLOCK_FORMS = ("hh:mm", "mm:ss")

_BY_DEFINITION: Mapping[str, str] = {
    "date": "date",
    "date_time": "moment",
    "ip_address": "address",
    "prefix": "prefix",
    "host": "host",
    "port": "port",
    "mac_address": "mac",
}
_TIME_UNITS = ("s", "min", "days")

_FITTING: Mapping[str, frozenset[str]] = {
    "boolean": frozenset({"truth", "word"}),
    "number": frozenset({"number", "duration", "port", "prefix_length", "word"}),
    "text": frozenset({"text", "word", "address", "prefix", "host", "mac", "date", "moment"}),
    "secret": frozenset({"secret"}),
    "sources": frozenset({"sources"}),
}


def usual_kind(leaf: Leaf) -> str:
    """Return the kind of conversion that suits a setting where a map names none."""
    if leaf.kind in ("secret", "sources"):
        return leaf.kind
    definition = definition_of(leaf)
    if definition in _BY_DEFINITION:
        return _BY_DEFINITION[definition]
    if leaf.kind == "boolean":
        return "truth"
    if leaf.kind == "number":
        return _usual_number(leaf)
    return "word" if leaf.values else "text"


def _usual_number(leaf: Leaf) -> str:
    if leaf.tokens[-1] == "prefix_length":
        return "prefix_length"
    return "duration" if leaf.unit in _TIME_UNITS else "number"


def fitting_kinds(leaf: Leaf) -> frozenset[str]:
    """Return the kinds of conversion that can give a value of a setting."""
    kind = "text" if leaf.kind == "words" else leaf.kind
    return _FITTING.get(kind, frozenset())


def definition_of(leaf: Leaf) -> str:
    """Return the name of the definition that a setting, or an item of it, refers to; empty if none."""
    item = leaf.node.get("items", {})
    return str(leaf.node.get("definition", "") or item.get("$ref", "").removeprefix("#/$defs/"))


def is_list(leaf: Leaf) -> bool:
    """Tell whether a setting is a list of single values."""
    return leaf.kind == "words"
