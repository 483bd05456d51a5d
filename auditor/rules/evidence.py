"""Evidence for people: what was observed and what was expected, in words that are safe to show.

This is the one place where values of a record become text. A value is shown only where the
schema marks the setting as shown; a secret never is.
"""

import json
from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from auditor.dataclass import dataclass
from auditor.facts.fact import Fact
from auditor.record.pointer import split
from auditor.record.schema import place_at
from auditor.rules.condition import Enough, Leaf, Seen, Subject
from auditor.rules.operator import OPERATORS
from auditor.rules.rule import Parameter

_LONGEST = 120
CANT_BE_TOLD = "can't be told"
"""What was observed where a fact could not be computed."""
_ANOTHER_VALUE = "another value"
_OF_THE_FIRST = f"{Enough.ANOTHER}, for the first that is named"
"""Of what a fact names, only the first is told by its settings; the others rest on their own."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """One setting that decided: its pointer, what was there and what was expected.

    ``fact`` names the fact that was computed from it, if one was; ``observed`` is then the
    fact's value. ``enough`` says where a change of something else would do as well, empty where
    none would.
    """

    pointer: str
    observed: str
    expected: str
    fact: str = ""
    enough: str = ""

    @property
    def asked(self) -> str:
        """Return what was expected, and what else would do."""
        return f"{self.expected}, {self.enough}" if self.enough else self.expected


@dataclass(frozen=True, slots=True)
class Wording:
    """What wording evidence needs to know: units of facts and of parameters."""

    facts: Mapping[str, Fact]
    parameters: Mapping[str, Parameter]


def word(seen: Seen, wording: Wording) -> Evidence:
    """Return the evidence of a leaf, in words."""
    leaf = seen.leaf
    if leaf is None:
        absent = seen.observed is None
        return Evidence(
            seen.where, "not captured" if absent else "none", "known" if absent else "at least one"
        )
    if seen.is_part:
        observed = _observed_part(seen)
        if seen.observed is None:
            return Evidence(seen.where, observed, "known")
        return Evidence(seen.where, observed, _ANOTHER_VALUE, enough=_OF_THE_FIRST)
    unit = _unit(leaf, wording)
    fact = leaf.name if leaf.subject is Subject.FACT else ""
    observed = _observed(seen, leaf, unit)
    if seen.precondition:  # nothing is asked of it but to be known
        return Evidence(seen.where, observed, "known", fact)
    wanted = expected(leaf, unit, negated=seen.negated)
    return Evidence(seen.where, observed, wanted, fact, ", ".join(seen.enough))


def _observed_part(seen: Seen) -> str:
    if seen.observed is None:
        return "not captured"
    return value_text(seen.observed) if is_shown(seen.where) else "set (not shown)"


def expected(leaf: Leaf, unit: str = "", *, negated: bool = False) -> str:
    """Return what a leaf expects, in words, such as ``at most 900 s``."""
    operator = OPERATORS[leaf.operator]
    if operator.operand_kind == "truth":
        return "at least one" if leaf.operand is not negated else "none"
    phrase = operator.opposite if negated else operator.phrase
    operand = (value_text(leaf.operand) or "empty") + (
        f" {unit}" if unit and operator.operand_kind == "number" else ""
    )
    said = phrase.format(operand)
    return f"{said} (parameter {leaf.parameter})" if leaf.parameter else said


def _unit(leaf: Leaf, wording: Wording) -> str:
    if leaf.subject is Subject.FACT:
        return wording.facts[leaf.name].unit
    return wording.parameters[leaf.parameter].unit if leaf.parameter in wording.parameters else ""


def _observed(seen: Seen, leaf: Leaf, unit: str) -> str:
    if seen.observed is None:
        return "not captured" if leaf.subject is not Subject.FACT else CANT_BE_TOLD
    if leaf.subject in (Subject.AT, Subject.ITS) and not is_shown(seen.where):
        return "set (not shown)"
    observed = value_text(seen.observed)
    if not unit or isinstance(seen.observed, bool) or not isinstance(seen.observed, (int, float)):
        return observed
    return f"{observed} {unit}"


@lru_cache(maxsize=4096)
def is_shown(pointer: str) -> bool:
    """Return whether the value of a setting may stand in a report."""
    place = place_at(split(pointer))
    return place is not None and place.shown


def value_text(value: Any) -> str:  # noqa: ANN401 - any JSON value
    """Return a value that may be shown as text, cut to 120 characters; a list then says how long it is."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, int):  # of a ``Between`` its bounds
        return str(value)
    if isinstance(value, float):
        return f"{value:.10g}" if abs(value) < 1e6 else f"{value:.0f}"  # noqa: PLR2004 - no exponent below a million
    if isinstance(value, str):
        return _cut(value)
    if isinstance(value, (tuple, list, frozenset, set)):
        return _cut(", ".join(value_text(item) for item in value), f" ({len(value)} in all)") or "none"
    return _cut(json.dumps(value, ensure_ascii=False))


def _cut(text: str, size: str = "") -> str:
    return text if len(text) <= _LONGEST else f"{text[: _LONGEST - 1 - len(size)]}…{size}"
