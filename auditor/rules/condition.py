"""Conditions and what they say of a record: the reference reading of the rule language.

A condition is data; ``judge`` reads it against a scope and keeps the leaves that decided.
``compiling`` gives the same truths faster and without leaves; a property test holds them equal.
Conditions are made by ``parsing``.
"""

from collections.abc import Callable, Iterator, Mapping, Sequence
from enum import StrEnum
from typing import Any, Final, TypeAlias

from auditor.dataclass import dataclass, field, replace
from auditor.facts.between import Between
from auditor.facts.fact import Context, Fact, FactValue, Settings
from auditor.record.pointer import join, split, value_at
from auditor.rules.operator import OPERATORS, Operator, holds_between
from auditor.rules.truth import Truth, truth_of


class Subject(StrEnum):
    """What a leaf looks at: a setting, a setting of the member, a fact, or a parameter."""

    AT = "at"
    ITS = "its"
    FACT = "fact"
    PARAMETER = "parameter"


@dataclass(frozen=True, slots=True)
class Leaf:
    """One comparison.

    ``name`` is a pointer, or the name of a fact or parameter; ``tokens`` the pointer's tokens.
    ``parameter`` names the parameter that the operand comes from, if any; the operand is bound
    when a site's tailoring is known.
    """

    subject: Subject
    name: str
    operator: str
    operand: Any
    parameter: str = ""
    tokens: tuple[str, ...] = ()
    value: Any = None
    """The value of a parameter that is itself the subject."""


@dataclass(frozen=True, slots=True)
class AllOf:
    """True when every part is true."""

    parts: tuple["Condition", ...]


@dataclass(frozen=True, slots=True)
class AnyOf:
    """True when some part is true."""

    parts: tuple["Condition", ...]


@dataclass(frozen=True, slots=True)
class Negation:
    """True when the part is false."""

    part: "Condition"


@dataclass(frozen=True, slots=True)
class Quantified:
    """True when every member (or some member) of a list meets the part.

    The list stands at ``tokens`` of the record. Inside the part, ``its`` is the member.
    """

    every: bool
    pointer: str
    tokens: tuple[str, ...]
    part: "Condition"


Condition: TypeAlias = Leaf | AllOf | AnyOf | Negation | Quantified


class Enough(StrEnum):
    """Why it is not asked that every leaf seen changes: one of several would do."""

    ANOTHER = "or else another of these"
    MEMBER = "in one member"


@dataclass(frozen=True, slots=True)
class Seen:
    """A leaf as it was seen: where it looked and what was there (None: not captured).

    ``where`` is the pointer of the setting (of a fact: the first that it reads). ``negated``
    is true when the opposite of the leaf was wanted. ``leaf`` is None where a whole list
    decided: it was not captured, or it has no members. ``enough`` says where a change of
    another leaf would do as well, the innermost choice first. ``precondition`` is true where
    the leaf leaves open whether a rule applies: nothing is asked but to know it. ``is_part`` is
    true of one of several settings that made what a fact says: the fact itself is seen beside it.
    """

    where: str
    observed: Any
    leaf: Leaf | None
    negated: bool = False
    enough: tuple[Enough, ...] = ()
    precondition: bool = False
    is_part: bool = False


@dataclass(frozen=True, slots=True)
class Judgement:
    """What a condition says, with the leaves that decided it."""

    truth: Truth
    seen: tuple[Seen, ...]


@dataclass(frozen=True, slots=True)
class Scope:
    """What a condition is read against; ``member`` is the list member in question, if any.

    ``known_facts`` is the one thing here that changes: a fact of a card is computed once.
    """

    record: Settings
    context: Context
    facts: Mapping[str, Fact]
    member: Settings | None = None
    member_pointer: str = ""
    known_facts: dict[str, FactValue] = field(default_factory=dict)
    known_bases: dict[Any, object] = field(default_factory=dict)

    def of_member(self, member: Settings, pointer: str) -> "Scope":
        """Return the scope of a member of a list; what is known of facts is shared."""
        known = self.known_facts, self.known_bases
        return Scope(self.record, self.context, self.facts, member, pointer, *known)


def judge(condition: Condition, scope: Scope) -> Judgement:
    """Read a condition against a scope."""
    return _READERS[type(condition)](condition, scope)


def truth_in(condition: Condition, scope: Scope) -> Truth:
    """Return the truth that ``judge`` gives, without gathering the leaves that decided."""
    return _TRUTHS[type(condition)](condition, scope)


def all_of(parts: Sequence[Judgement], one: Enough = Enough.ANOTHER) -> Judgement:
    """Join judgements by Kleene's strong conjunction.

    The truth is the least of the parts' truths; an empty sequence is true. The leaves are
    those of the parts that hold it, so a fail names only settings that fail. Where all are
    true, ``one`` of them would be enough to turn it: a negation around it asks no more.

    Source: S. C. Kleene, Introduction to Metamathematics (1952), section 64, strong tables.
    """
    kept = _keep(min((part.truth for part in parts), default=Truth.TRUE), parts)
    return _one_enough(kept, one) if kept.truth is Truth.TRUE and _a_choice(parts, one) else kept


def any_of(parts: Sequence[Judgement], one: Enough = Enough.ANOTHER) -> Judgement:
    """Join judgements by Kleene's strong disjunction; an empty sequence is false.

    Where all are false, ``one`` of them would be enough to turn it, and the leaves say so.

    Source: S. C. Kleene, Introduction to Metamathematics (1952), section 64, strong tables.
    """
    kept = _keep(max((part.truth for part in parts), default=Truth.FALSE), parts)
    return _one_enough(kept, one) if kept.truth is Truth.FALSE and _a_choice(parts, one) else kept


def negation(part: Judgement) -> Judgement:
    """Return the opposite judgement, resting on the same leaves."""
    turned = tuple(replace(seen, negated=not seen.negated) for seen in part.seen)
    return Judgement(part.truth.negation, turned)


def leaves(condition: Condition) -> Iterator[Leaf]:
    """Yield the leaves of a condition, in the order of its text."""
    match condition:
        case Leaf():
            yield condition
        case AllOf(parts) | AnyOf(parts):
            for part in parts:
                yield from leaves(part)
        case Negation(part) | Quantified(part=part):
            yield from leaves(part)


def bind(condition: Condition, parameters: Mapping[str, Any]) -> Condition:
    """Return the condition with the values of its parameters filled in."""
    match condition:
        case Leaf():
            return _bind_leaf(condition, parameters)
        case AllOf(parts):
            return AllOf(tuple(bind(part, parameters) for part in parts))
        case AnyOf(parts):
            return AnyOf(tuple(bind(part, parameters) for part in parts))
        case Negation(part):
            return Negation(bind(part, parameters))
        case Quantified(part=part):
            return replace(condition, part=bind(part, parameters))


def _bind_leaf(leaf: Leaf, parameters: Mapping[str, Any]) -> Leaf:
    if leaf.subject is Subject.PARAMETER:
        return replace(leaf, value=parameters[leaf.name])
    return replace(leaf, operand=parameters[leaf.parameter]) if leaf.parameter else leaf


def _keep(truth: Truth, parts: Sequence[Judgement]) -> Judgement:
    deciding = [part for part in parts if part.truth is truth]
    if len(deciding) == 1:
        return deciding[0]
    # Two leaves are the same evidence where they say the same of the same place; comparing what
    # names them is much cheaper than comparing all that they hold.
    told = {_told(seen): seen for part in deciding for seen in part.seen}
    return Judgement(truth, tuple(told.values()))


def _told(seen: Seen) -> tuple[object, ...]:
    leaf = seen.leaf
    said = (leaf.name, leaf.operator, leaf.operand, leaf.parameter) if leaf else ()
    return (seen.where, *said, seen.negated, seen.enough)


def _a_choice(parts: Sequence[Judgement], one: Enough) -> bool:
    """Return whether there is anything to choose: of members there may always be one more."""
    return len(parts) > 1 or one is Enough.MEMBER


def _one_enough(judgement: Judgement, one: Enough) -> Judgement:
    """Say of each leaf that ``one`` would do."""
    told = {_told(seen): seen for seen in (_with_choice(seen, one) for seen in judgement.seen)}
    return Judgement(judgement.truth, tuple(told.values()))


def _with_choice(seen: Seen, one: Enough) -> Seen:
    # A whole list that decided has no member in which anything could be put right.
    if seen.leaf is None or one in seen.enough:
        return seen
    enough = (*seen.enough, one)
    return replace(seen, enough=enough)


def _judge_leaf(leaf: Leaf, scope: Scope) -> Judgement:
    where, value = _look(leaf, scope)
    truth = _truth(leaf, value)
    places = _places(scope.facts[leaf.name], scope) if leaf.subject is Subject.FACT else ()
    if not places:
        return Judgement(truth, (Seen(where, _frozen(value), leaf),))
    first, *others = places
    parts = (Seen(other, _frozen(_setting(other, scope)), leaf, is_part=True) for other in others)
    return Judgement(truth, (Seen(first, _frozen(value), leaf), *parts))


def _truth_of_leaf(leaf: Leaf, scope: Scope) -> Truth:
    return _truth(leaf, _look(leaf, scope)[1])


def _truth(leaf: Leaf, value: Any) -> Truth:  # noqa: ANN401 - any JSON value
    if value is None:
        return Truth.UNKNOWN
    return truth_of(_holds(OPERATORS[leaf.operator], value, leaf.operand))


def _places(fact: Fact, scope: Scope) -> Sequence[str]:
    """Return the settings that together made what a fact says, where the fact can tell."""
    return () if fact.places is None else fact.places(_basis(fact, scope), scope.record)


def _setting(pointer: str, scope: Scope) -> Any:  # noqa: ANN401 - any JSON value
    return value_at(scope.record, split(pointer))


def _holds(operator: Operator, value: Any, operand: Any) -> bool | None:  # noqa: ANN401 - any JSON value
    if isinstance(value, Between):
        return holds_between(operator, value, operand)
    return operator.holds(value, operand)


def _look(leaf: Leaf, scope: Scope) -> tuple[str, Any]:
    if leaf.subject is Subject.AT:
        return leaf.name, value_at(scope.record, leaf.tokens)
    if leaf.subject is Subject.ITS:
        return scope.member_pointer + leaf.name, value_at(scope.member, leaf.tokens)
    if leaf.subject is Subject.PARAMETER:
        return "", leaf.value
    fact = scope.facts[leaf.name]
    base = scope.member_pointer if fact.about else ""
    return base + fact.reads[0], fact_value(fact, scope)


def fact_value(fact: Fact, scope: Scope) -> FactValue:
    """Return what a fact says in a scope, computing each at most once a card or member."""
    key = f"{scope.member_pointer} {fact.name}" if fact.about else fact.name
    if key not in scope.known_facts:
        scope.known_facts[key] = _computed(fact, scope)
    return scope.known_facts[key]


def _computed(fact: Fact, scope: Scope) -> FactValue:
    if fact.basis is not None:
        return fact.compute(_basis(fact, scope))
    given = (scope.member,) if fact.about else ()
    return fact(*given, scope.record, scope.context)


def _basis(fact: Fact, scope: Scope) -> object:
    if fact.basis is not None and fact.basis not in scope.known_bases:
        scope.known_bases[fact.basis] = fact.basis(scope.record, scope.context)
    return scope.known_bases.get(fact.basis)


def _judge_quantified(condition: Quantified, scope: Scope) -> Judgement:
    members = value_at(scope.record, condition.tokens)
    if members is None:
        return Judgement(Truth.UNKNOWN, (Seen(condition.pointer, None, None),))
    if not members:
        return Judgement(truth_of(condition.every), (Seen(condition.pointer, (), None),))
    joined = all_of if condition.every else any_of
    parts = [judge(condition.part, inner) for inner in members_of(scope, condition.tokens)]
    return joined(parts, Enough.MEMBER)


def _truth_of_quantified(condition: Quantified, scope: Scope) -> Truth:
    if value_at(scope.record, condition.tokens) is None:
        return Truth.UNKNOWN
    joined = min if condition.every else max
    truths = [truth_in(condition.part, inner) for inner in members_of(scope, condition.tokens)]
    return joined(truths, default=truth_of(condition.every))


def members_of(scope: Scope, tokens: Sequence[str]) -> Iterator[Scope]:
    """Yield the scope of each member of the list at a place; none where nothing is captured."""
    for index, member in enumerate(value_at(scope.record, tokens) or ()):
        yield scope.of_member(member, join((*tokens, index)))


_LISTS: Final = (list, set, frozenset)


def _frozen(value: Any) -> Any:  # noqa: ANN401 - any JSON value
    if not isinstance(value, _LISTS):
        return value
    # Members of a list of objects are not told one by one: they may hold secrets.
    return tuple("(member)" if isinstance(item, dict) else item for item in value)


_READERS: Mapping[type, Callable[[Any, Scope], Judgement]] = {
    Leaf: _judge_leaf,
    AllOf: lambda condition, scope: all_of([judge(part, scope) for part in condition.parts]),
    AnyOf: lambda condition, scope: any_of([judge(part, scope) for part in condition.parts]),
    Negation: lambda condition, scope: negation(judge(condition.part, scope)),
    Quantified: _judge_quantified,
}

_TRUTHS: Mapping[type, Callable[[Any, Scope], Truth]] = {
    Leaf: _truth_of_leaf,
    AllOf: lambda condition, scope: min(_truths(condition, scope), default=Truth.TRUE),
    AnyOf: lambda condition, scope: max(_truths(condition, scope), default=Truth.FALSE),
    Negation: lambda condition, scope: truth_in(condition.part, scope).negation,
    Quantified: _truth_of_quantified,
}


def _truths(condition: AllOf | AnyOf, scope: Scope) -> list[Truth]:
    return [truth_in(part, scope) for part in condition.parts]
