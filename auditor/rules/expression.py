"""Conditions → Python expressions that ask whether it surely is so, or surely is not.

Unknown is what is neither. Two plain questions cost less than one of three answers, and a
judge asks the second only where the first is answered no. ``condition.judge`` says what a
condition means; a property test holds the two equal.
"""

import re
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Final

from auditor.facts.between import Between
from auditor.facts.fact import Fact
from auditor.rules.code import RECORD, Code
from auditor.rules.condition import AllOf, AnyOf, Condition, Leaf, Negation, Quantified, Subject, leaves
from auditor.rules.operator import OPERATORS, holds_between
from auditor.rules.rule import Rule

BOUNDED_UNIT: Final = "characters"
"""Unit of the facts that may know a number by its bounds only: the lengths of secrets."""

_SAFE: Final = frozenset({"equals", "one_of"})
"""Operators that nothing unknown meets: it need not be asked for first."""


class Expressions:
    """Writes conditions as expressions of one text; facts that are asked for twice are kept."""

    def __init__(self, code: Code, facts: Mapping[str, Fact], rules: Sequence[Rule]) -> None:
        """Find out which facts about the card are asked for more than once, and what facts share."""
        self._code = code
        self._facts = facts
        self._member = ""
        self._kept = {name: code.name("k") for name in self._repeated(rules, on_card=True)}
        shared = (facts[name].basis for name in _facts_of(rules))
        self._bases = {basis: code.name("b") for basis in dict.fromkeys(shared) if basis}

    @property
    def kept(self) -> tuple[str, ...]:
        """Return the names that hold facts about the card and what facts share; each starts as ``U``."""
        return (*self._kept.values(), *self._bases.values())

    def begin_member(self, member: str, rules: Iterable[Rule]) -> tuple[str, ...]:
        """Write for a member of a list from here on; return the names that hold its facts."""
        self._member = member
        found = {name: self._code.name("k") for name in self._repeated(rules, on_card=False)}
        self._kept = {name: held for name, held in self._kept.items() if not self._facts[name].about} | found
        return tuple(found.values())

    def ask(self, condition: Condition, *, wanted: bool) -> str:
        """Return the expression that holds where a condition surely is what is wanted.

        Settings that it needs are fetched before, and lists that it goes through walked.
        """
        match condition:
            case Leaf():
                return self._ask_leaf(condition, wanted=wanted)
            case AllOf(parts):
                return self._join(parts, "and" if wanted else "or", wanted=wanted)
            case AnyOf(parts):
                return self._join(parts, "or" if wanted else "and", wanted=wanted)
            case Negation(part):
                return self.ask(part, wanted=not wanted)
            case Quantified():
                return self._walk(condition, wanted=wanted)

    def _join(self, parts: Iterable[Condition], joiner: str, *, wanted: bool) -> str:
        asked = [self.ask(part, wanted=wanted) for part in parts]
        return f"({f' {joiner} '.join(asked)})" if asked else repr(joiner == "and")

    def walk_lists(self, rules: Iterable[Rule]) -> None:
        """Walk here the lists that the conditions of some rules go through, not once a member."""
        for rule in rules:
            asked = [(rule.require, True)]
            if rule.applies_when is not None:
                asked += [(rule.applies_when, True), (rule.applies_when, False)]
            for condition, wanted in asked:
                for walk, so in _walks(condition, wanted=wanted):
                    self._walk(walk, wanted=so)

    def _walk(self, condition: Quantified, *, wanted: bool) -> str:
        """Walk a list before the expression, to tell whether all of its members answer so, or some."""
        code, key = self._code, (condition, wanted)
        if answer := code.known(key):
            return answer
        members, all_of_them = code.fetch(RECORD, condition.tokens), condition.every is wanted
        for tokens in _settings(condition.part, Subject.AT):
            code.fetch(RECORD, tokens)  # outside the walk
        answer = code.keep(key, f"{members} is not None" if all_of_them else "False", "q")
        outside, member = (self._member, self._kept), code.name("m")
        self._member = member
        self._kept = {name: held for name, held in self._kept.items() if not self._facts[name].about}
        with code.block(f"for {member} in {members} or ():"):
            asked = self.ask(condition.part, wanted=wanted)
            with code.block(f"if {f'not {asked}' if all_of_them else asked}:"):
                code.put(f"{answer} = {not all_of_them}")
                code.put("break")
        self._member, self._kept = outside
        return answer

    def _ask_leaf(self, leaf: Leaf, *, wanted: bool) -> str:
        operator = OPERATORS[leaf.operator]
        if leaf.subject is Subject.PARAMETER:
            return repr(operator.holds(leaf.value, leaf.operand) is wanted)
        if leaf.subject is Subject.FACT:
            return self._ask_fact(leaf, self._facts[leaf.name], wanted=wanted)
        value = self._code.fetch(RECORD if leaf.subject is Subject.AT else self._member, leaf.tokens)
        if isinstance(leaf.operand, bool) and leaf.operator == "equals":
            return f"{value} is {leaf.operand is wanted}"  # a setting compared with a truth is one
        asked = self._compare(leaf, value, wanted=wanted)
        return asked if wanted and leaf.operator in _SAFE else f"({value} is not None and {asked})"

    def _ask_fact(self, leaf: Leaf, fact: Fact, *, wanted: bool) -> str:
        value, asked = self._value(fact), self._compare(leaf, "v_", wanted=wanted)
        if fact.unit == BOUNDED_UNIT:
            asked = (
                f"({self._compare_bounds(leaf, wanted=wanted)}(v_) if v_.__class__ is Between else {asked})"
            )
        elif wanted and leaf.operator in _SAFE:
            return self._compare(leaf, value, wanted=wanted)
        return f"((v_ := {value}) is not None and {asked})"

    def _compare(self, leaf: Leaf, value: str, *, wanted: bool) -> str:
        operand = frozenset(leaf.operand) if isinstance(leaf.operand, tuple) else leaf.operand
        test = _named(OPERATORS[leaf.operator].expression, value, self._code.constant(operand))
        return f"({test})" if wanted else f"(not ({test}))"

    def _compare_bounds(self, leaf: Leaf, *, wanted: bool) -> str:
        """Return the name of a function that says what holds where only bounds are known."""
        operator, operand = OPERATORS[leaf.operator], leaf.operand

        def is_so(value: Between) -> bool:
            return holds_between(operator, value, operand) is wanted

        return self._code.constant(is_so)

    def _value(self, fact: Fact) -> str:
        function = self._code.constant(fact.compute)
        call = f"{function}({self._given(fact)})"
        kept = self._kept.get(fact.name)
        return f"({kept} if {kept} is not U else ({kept} := {call}))" if kept else call

    def _given(self, fact: Fact) -> str:
        """Return what a fact is given: the record, or what it shares with others, made once."""
        if fact.basis is None:
            return f"{self._member}, d, c" if fact.about else "d, c"
        name, make = self._bases[fact.basis], self._code.constant(fact.basis)
        return f"{name} if {name} is not U else ({name} := {make}(d, c))"

    def _repeated(self, rules: Iterable[Rule], *, on_card: bool) -> list[str]:
        """Return the facts, about the card or about members, that the rules may ask for twice."""
        asked = Counter(
            leaf.name
            for rule in rules
            # Whether a rule applies may take both questions.
            for condition in (rule.applies_when, rule.applies_when, rule.require)
            if condition is not None
            for leaf in leaves(condition)
            if leaf.subject is Subject.FACT and bool(self._facts[leaf.name].about) is not on_card
        )
        return [name for name, times in asked.items() if times > 1]


def _facts_of(rules: Iterable[Rule]) -> Iterator[str]:
    for rule in rules:
        for condition in (rule.applies_when, rule.require):
            if condition is not None:
                yield from (leaf.name for leaf in leaves(condition) if leaf.subject is Subject.FACT)


def _named(expression: str, value: str, operand: str) -> str:
    """Return an operator's expression with its ``v`` and ``o`` named."""
    return re.sub(r"\b[vo]\b", lambda match: value if match[0] == "v" else operand, expression)


def settings_of(rules: Iterable[Rule], subject: Subject) -> Iterator[tuple[str, ...]]:
    """Yield the places that rules look at: of the record, or of the member that they are about."""
    for rule in rules:
        for condition in (rule.applies_when, rule.require):
            if condition is not None:
                yield from _settings(condition, subject)


def _settings(condition: Condition, subject: Subject) -> Iterator[tuple[str, ...]]:
    match condition:
        case Leaf():
            if condition.subject is subject:
                yield condition.tokens
        case AllOf(parts) | AnyOf(parts):
            for part in parts:
                yield from _settings(part, subject)
        case Negation(part):
            yield from _settings(part, subject)
        case Quantified(tokens=tokens, part=part) if subject is Subject.AT:
            yield tokens
            yield from _settings(part, subject)


def _walks(condition: Condition, *, wanted: bool) -> Iterator[tuple[Quantified, bool]]:
    """Yield the lists that a condition goes through where it is asked, with what each is asked for."""
    match condition:
        case Quantified():
            yield condition, wanted
        case AllOf(parts) | AnyOf(parts):
            for part in parts:
                yield from _walks(part, wanted=wanted)
        case Negation(part):
            yield from _walks(part, wanted=not wanted)
