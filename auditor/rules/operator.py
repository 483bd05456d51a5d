"""The comparisons of the rule language, each in one place; holds no conditions.

An operator has a meaning (``holds``), the same meaning as a Python expression over ``v`` (the
value) and ``o`` (the operand, a list as a frozenset) for the compiled form, words for a report,
and the kinds of value and operand that it takes. A test holds ``holds`` and ``expression`` equal.
"""

from collections.abc import Callable
from math import inf
from typing import Any

from auditor.dataclass import dataclass
from auditor.facts.between import Between


@dataclass(frozen=True, slots=True)
class Operator:
    """One comparison. ``phrase`` and ``opposite`` word what is expected, with ``{}`` for the operand."""

    name: str
    holds: Callable[[Any, Any], bool]
    expression: str
    phrase: str
    opposite: str
    value_kind: str
    """``scalar``, ``number``, ``list`` or ``any``."""
    operand_kind: str
    """``scalar``, ``number``, ``list``, ``truth``, or ``true``: nothing but true makes sense."""


def _has_items(value: Any, wanted: bool) -> bool:  # noqa: ANN401, FBT001 - JSON value and operand
    return bool(value) is wanted


OPERATORS = {
    operator.name: operator
    for operator in (
        Operator("equals", lambda v, o: v == o, "v == o", "{}", "not {}", "scalar", "scalar"),
        Operator("differs_from", lambda v, o: v != o, "v != o", "not {}", "{}", "scalar", "scalar"),
        Operator("one_of", lambda v, o: v in o, "v in o", "one of {}", "none of {}", "scalar", "list"),
        Operator(
            "none_of", lambda v, o: v not in o, "v not in o",
            "none of {}", "one of {}", "scalar", "list",
        ),
        Operator(
            "at_least", lambda v, o: v >= o, "v >= o",
            "at least {}", "less than {}", "number", "number",
        ),
        Operator("at_most", lambda v, o: v <= o, "v <= o", "at most {}", "more than {}", "number", "number"),
        Operator("more_than", lambda v, o: v > o, "v > o", "more than {}", "at most {}", "number", "number"),
        Operator("less_than", lambda v, o: v < o, "v < o", "less than {}", "at least {}", "number", "number"),
        Operator("includes", lambda v, o: o in v, "o in v", "including {}", "without {}", "list", "scalar"),
        Operator(
            "includes_all", lambda v, o: set(o) <= set(v), "o.issubset(v)",
            "including all of {}", "not all of {}", "list", "list",
        ),
        Operator(
            "includes_none", lambda v, o: set(o).isdisjoint(v), "o.isdisjoint(v)",
            "without any of {}", "some of {}", "list", "list",
        ),
        Operator(
            "includes_only", lambda v, o: set(v) <= set(o), "o.issuperset(v)",
            "only {}", "not only {}", "list", "list",
        ),
        Operator(
            "has_items", _has_items, "(not v) is not o",
            "{}", "not {}", "list", "truth",
        ),
        # What is not known is unknown before it is compared: this never says false.
        Operator("is_known", lambda _v, _o: True, "True", "known", "not known", "any", "true"),
    )
}  # fmt: skip


def holds_between(operator: Operator, value: Between, operand: Any) -> bool | None:  # noqa: ANN401 - any operand
    """Return whether a comparison holds for every number between two, or for none; else None."""
    if operator.value_kind == "any":
        return None  # the number itself is not known
    least, most = int(value), inf if value.most is None else value.most
    if operator.operand_kind not in ("number", "scalar", "list"):
        return operator.holds(value, operand)
    if operator.operand_kind != "number":
        operands = operand if isinstance(operand, tuple | list) else (operand,)
        may_meet = any(least <= one <= most for one in operands)
        return None if may_meet and least < most else operator.holds(least, operand)
    at_ends = operator.holds(least, operand), operator.holds(most, operand)
    return at_ends[0] if at_ends[0] is at_ends[1] else None
