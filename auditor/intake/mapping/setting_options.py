"""The options of one setting of a map → its conversion, with what is wrong with them."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from auditor.intake.mapping.kind import (
    CLOCK_FORMS,
    KINDS,
    LIST_OPTIONS,
    SECRET_FORMS,
    fitting_kinds,
    is_list,
    usual_kind,
)
from auditor.intake.mapping.language import Conversion
from auditor.intake.mapping.moment import faults_of_form
from auditor.intake.mapping.quantity import UNITS
from auditor.record.nearest import nearest
from auditor.record.outline import Leaf

OptionFault: TypeAlias = tuple[str, str, str]
"""An option, the problem, the remedy."""

_ALWAYS = frozenset({"to", "from", "join", "as", "value", "unknown", "after", "before"})
_UNITS_WANTED = ("s", "min", "days", "°C", "K", "%")


def read_conversion(raw: Mapping[str, Any], leaf: Leaf) -> tuple[Conversion, list[OptionFault]]:
    """Return the conversion that the options of a setting state, and every fault of theirs."""
    kind = raw.get("as", usual_kind(leaf))
    conversion = Conversion(
        kind=kind,
        unit=raw.get("unit", ""),
        unit_wanted=leaf.unit if leaf.unit in _UNITS_WANTED else "",
        decimal=raw.get("decimal", "."),
        values=leaf.values,
        words={" ".join(word.split()).casefold(): value for word, value in raw["words"].items()}
        if "words" in raw
        else None,
        yes=tuple(raw.get("yes", ())),
        no=tuple(raw.get("no", ())),
        any_source=tuple(raw.get("any", ())),
        none=tuple(raw.get("none", ())),
        unknown=tuple(raw.get("unknown", ())),
        form=raw.get("form", ""),
        offset=raw.get("offset", ""),
        after=raw.get("after", ""),
        before=raw.get("before", ""),
        split=raw.get("split", "," if is_list(leaf) or kind == "sources" else ""),
    )
    return conversion, list(_faults(raw, leaf, kind))


def _faults(raw: Mapping[str, Any], leaf: Leaf, kind: str) -> Iterator[OptionFault]:
    fitting = fitting_kinds(leaf)
    if kind not in fitting:
        yield "as", f"{kind} does not give what belongs here: {leaf.allowed}", nearest(kind, fitting)
    allowed = _ALWAYS | KINDS[kind] | (LIST_OPTIONS if is_list(leaf) else frozenset())
    for option in sorted(set(raw) - allowed):
        yield option, f"{option} means nothing for a setting taken as {kind}", "Remove it."
    if "value" not in raw:
        yield from _faults_of_form(raw, kind)
        yield from _faults_of_unit(raw, leaf, kind)
        yield from _faults_of_words(raw, leaf)


def _faults_of_form(raw: Mapping[str, Any], kind: str) -> Iterator[OptionFault]:
    form = raw.get("form", "")
    if not form:
        return
    if kind == "secret" and form not in SECRET_FORMS:
        yield "form", "no form of a secret", nearest(form, SECRET_FORMS)
    if kind == "duration" and form not in CLOCK_FORMS:
        yield "form", "no form of a clock", nearest(form, CLOCK_FORMS)
    if kind in ("date", "moment"):
        problem = faults_of_form(form, with_time=kind == "moment")
        if problem:
            yield "form", f"{problem} in the form of a {kind}", "Write it as YYYY-MM-DD hh:mm:ss, or unix."


def _faults_of_unit(raw: Mapping[str, Any], leaf: Leaf, kind: str) -> Iterator[OptionFault]:
    unit = raw.get("unit", "")
    if "unit" not in KINDS[kind]:
        return
    if unit and unit.casefold() not in UNITS:
        yield "unit", "no unit that is known", nearest(unit.casefold(), UNITS)
    elif unit and leaf.unit not in _UNITS_WANTED:
        yield "unit", "this setting has no unit", "Remove it."


def _faults_of_words(raw: Mapping[str, Any], leaf: Leaf) -> Iterator[OptionFault]:
    for value in (item for word in raw.get("words", {}).values() for item in _items(word)):
        if leaf.kind == "boolean" and not isinstance(value, bool):
            yield "words", "a word stands for something else than true or false", "Write true or false."
        if leaf.values and value not in leaf.values:
            yield "words", f"the setting has no value {value!r}", nearest(str(value), leaf.values)


def _items(value: object) -> Sequence[object]:
    return value if isinstance(value, list) else (value,)
