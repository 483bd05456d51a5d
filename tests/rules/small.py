"""Small rules and facts, made by hand, for tests of how rules are judged."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import UTC, datetime
from typing import Any, Final

from auditor.facts.fact import Context, Fact, Settings, fact
from auditor.record.pointer import split
from auditor.rules.condition import Condition, Leaf, Scope, Subject
from auditor.rules.rule import Mend, Parameter, Rule, Ruleset

CONTEXT: Final = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))
PARAMETERS: Final = {"limit_s": Parameter("limit_s", 900, "s", "m", "s")}


@fact(reads=["/services"], source="made for this test")
def breaks(_record: Settings, _context: Context) -> bool | None:
    """Fail, as a fact with a fault of ours does."""
    message = "secret h0rse-b4ttery"
    raise ValueError(message)


@fact(reads=["/name"], source="made for this test", about="/accounts")
def breaks_on_odd(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Fail for one member only."""
    return bool(1 / (member["name"] != "odd"))


FACTS: Final[Mapping[str, Fact]] = {each.name: each for each in (breaks, breaks_on_odd)}


def at(pointer: str, operand: object = True, operator: str = "equals") -> Leaf:  # noqa: FBT002 - an operand
    """Return a leaf about a setting."""
    return Leaf(Subject.AT, pointer, operator, operand, "", split(pointer))


def its(pointer: str, operand: object = True, operator: str = "equals") -> Leaf:  # noqa: FBT002 - an operand
    """Return a leaf about a setting of the member."""
    return Leaf(Subject.ITS, pointer, operator, operand, "", split(pointer))


def of_fact(name: str) -> Leaf:
    """Return a leaf that asks for a fact to be true."""
    return Leaf(Subject.FACT, name, "equals", operand=True)


PLAIN: Final = Rule(
    id="odd",
    title="t",
    family="f",
    for_each="",
    for_each_tokens=(),
    applies_when=None,
    require=at("/on"),
    unknown_matters=False,
    judges_evidence=False,
    vector="AV:N/AC:L/Au:N/C:P/I:P/A:P",
    vector_because="b",
    why="w",
    mend=Mend("m"),
    verify="v",
    sources=("s",),
    visit=None,
    ruleset="small",
    file="small.toml",
    line=0,
)


def rule(
    require: Condition = PLAIN.require, applies_when: Condition | None = None, *,
    each: str = "", name: str = PLAIN.id, **others: Any,
) -> Rule:  # fmt: skip
    """Return a rule, about the members of the list ``each`` if one is named; what is not given is plain."""
    tokens = split(each) if each else ()
    return replace(
        PLAIN,
        id=name,
        require=require,
        applies_when=applies_when,
        for_each=each,
        for_each_tokens=tokens,
        **others,
    )


def ruleset(*rules: Rule) -> Ruleset:
    """Return a ruleset of these rules, with the one parameter there is."""
    return Ruleset("small", "Small", "1", PARAMETERS, rules, "small.toml", "")


def scope(record: Settings) -> Scope:
    """Return the scope of a record."""
    return Scope(record, CONTEXT, FACTS)
