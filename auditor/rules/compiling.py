"""Rules → one Python function that gives their outcomes, for speed; it gathers no evidence.

``condition.judge`` says what a condition means. This module writes the same meaning out as
straight Python, every setting fetched once, every list walked once for all its rules. A
property test holds the two equal over random records. The text holds names made here and
literals written by ``repr``: nothing from a file becomes code.

Truths are written as the numbers of ``Truth``: 0 false, 1 unknown, 2 true.
"""

import re
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import groupby
from typing import Any, Final, TypeAlias

from auditor.facts.between import Between
from auditor.facts.fact import Context, Fact, Settings
from auditor.rules.condition import AllOf, AnyOf, Condition, Leaf, Negation, Quantified, Subject, leaves
from auditor.rules.operator import OPERATORS, holds_between
from auditor.rules.result import RuleResult
from auditor.rules.rule import Rule
from auditor.rules.truth import truth_of

WHOLE: Final = -1
"""Stands in for the index of a member where a result is about the card, or about a missing list."""

Judge: TypeAlias = Callable[[Settings, Context], tuple[dict[int, RuleResult], list[tuple[int, int]]]]
"""Gives the results without departures, by place, where they are not the usual ones (a pass of
a rule about the card, nothing for a rule about members); then, for each result that fails or is
unknown, the place of its rule and the index of its member, or ``WHOLE``, by list."""

Undisputed: TypeAlias = Callable[[Rule, int], RuleResult]
"""Gives the result of a rule of which so many results pass, and no other applies."""

BOUNDED_UNIT: Final = "characters"
"""Unit of the facts that may know a number by its bounds only: the lengths of secrets."""

_MISSING = object()


def compile_rules(rules: Mapping[int, Rule], facts: Mapping[str, Fact], undisputed: Undisputed) -> Judge:
    """Return the function that judges records by rules, by place, parameters already bound."""
    writer = _Writer(facts, undisputed)
    writer.write(rules)
    names: dict[str, Any] = {
        "E": {},
        "U": _MISSING,
        "plain": undisputed,
        "Between": Between,
        **writer.constants,
    }
    exec(compile(writer.text(), "<compiled rules>", "exec"), names)  # noqa: S102 - own text, see above
    judge: Judge = names["judge"]
    return judge


class _Writer:
    """Gathers the lines of the function; the one object here that changes, and only here."""

    def __init__(self, facts: Mapping[str, Fact], undisputed: Undisputed) -> None:
        self.facts = facts
        self.undisputed = undisputed
        self.constants: dict[str, Any] = {}
        self._fetches: dict[tuple[str, ...], str] = {(): "d"}
        self._head: list[str] = []
        self._body: list[str] = []
        self._indent = 1
        self._names = 0
        self._member_values: dict[tuple[str, ...], str] = {}
        self._card_facts: dict[str, str] = {}
        self._member_facts: dict[str, str] = {}
        self._preconditions: dict[Condition, str] = {}
        self._member = "m"

    def text(self) -> str:
        memory = [f"    {name} = U" for name in self._card_facts.values()]
        begin, end = ["def judge(d, c):", "    out, bad = {}, []"], ["    return out, bad"]
        lines = [*begin, *self._head, *memory, *self._body, *end]
        return "\n".join(lines)

    def write(self, rules: Mapping[int, Rule]) -> None:
        """Write the rules on the card, then list by list those on members."""
        for place, rule in rules.items():
            if not rule.for_each:
                self._card_rule(place, rule)
        members = sorted((pair for pair in rules.items() if pair[1].for_each), key=_list_of)
        for _, group in groupby(members, key=_list_of):
            self._member_rules(list(group))

    def _card_rule(self, place: int, rule: Rule) -> None:
        self._whole(rule, "t")
        if rule.applies_when is not None:
            self._put(f"if t == 3: out[{place}] = {self._constant(self.undisputed(rule, 0))}")
        self._put(f"{'if' if rule.applies_when is None else 'elif'} t != 2: bad.append(({place}, {WHOLE}))")

    def _whole(self, rule: Rule, target: str) -> None:
        """Write one rule: 0, 1, 2 as ever, and 3 where it does not apply."""
        if rule.applies_when is None:
            self._condition(rule.require, target)
            return
        applies = self._precondition(rule.applies_when)
        self._put(f"if {applies} == 2:")
        outside = self._indented()
        self._condition(rule.require, target)
        self._indent = outside
        self._put(f"else: {target} = {applies} or 3")

    def _precondition(self, condition: Condition) -> str:
        """Return the name that holds its truth; rules that share one share its reading."""
        if condition not in self._preconditions:
            self._preconditions[condition] = name = self._name("a")
            self._condition(condition, name)
        return self._preconditions[condition]

    def _member_rules(self, group: Sequence[tuple[int, Rule]]) -> None:
        members = self._fetch(group[0][1].for_each_tokens)
        self._put(f"if {members} is None:")
        outside = self._indented()
        self._missing_list(group)
        self._indent = outside
        self._put(f"elif {members}:")
        self._indented()
        self._put(" = ".join(f"p{place}" for place, _ in group) + " = 0")
        self._loop(group, members)
        for place, rule in group:
            self._put(f"if p{place}: out[{place}] = plain({self._constant(rule)}, p{place})")
        self._indent = outside

    def _loop(self, group: Sequence[tuple[int, Rule]], members: str) -> None:
        self._put(f"for n, m in enumerate({members}):")
        outside = self._indented()
        self._fetch_member_values(group)
        for place, rule in group:
            self._whole(rule, "t")
            self._put(f"if t == 2: p{place} += 1")
            self._put(f"elif t != 3: bad.append(({place}, n))")
        self._indent = outside
        self._forget_members()

    def _missing_list(self, group: Sequence[tuple[int, Rule]]) -> None:
        """Write what holds of a member of which nothing is known: unknown, or not applicable."""
        self._put("m = E")
        for place, rule in group:
            unknown = f"bad.append(({place}, {WHOLE}))"
            applies = f"if {self._precondition(rule.applies_when)}: " if rule.applies_when else ""
            self._put(applies + unknown)
        self._forget_members()

    def _forget_members(self) -> None:
        self._member_values, self._member_facts, self._preconditions = {}, {}, {}

    def _fetch_member_values(self, group: Sequence[tuple[int, Rule]]) -> None:
        """Fetch each setting of the member once, for all rules of its loop, and each fact at most once."""
        found = [leaf for _, rule in group for leaf in _leaves_about_members(rule)]
        for tokens in dict.fromkeys(leaf.tokens for leaf in found if leaf.subject is Subject.ITS):
            name = self._name("i")
            self._put(f"{name} = {_get('m', tokens)}")
            self._member_values[tokens] = name
        facts = Counter(leaf.name for leaf in found if leaf.subject is Subject.FACT)
        for fact in (name for name, uses in facts.items() if uses > 1 and self.facts[name].about):
            self._member_facts[fact] = self._name("k")
            self._put(f"{self._member_facts[fact]} = U")

    def _condition(self, condition: Condition, target: str) -> None:
        match condition:
            case Leaf():
                self._leaf(condition, target)
            case AllOf(parts):
                self._join(parts, target, go_on=f"if {target}:", keep="<")
            case AnyOf(parts):
                self._join(parts, target, go_on=f"if {target} != 2:", keep=">")
            case Negation(part):
                self._condition(part, target)
                self._put(f"{target} = 2 - {target}")
            case Quantified():
                self._quantified(condition, target)

    def _join(self, parts: Sequence[Condition], target: str, *, go_on: str, keep: str) -> None:
        if not parts:
            self._put(f"{target} = {2 if keep == '<' else 0}")
            return
        self._condition(parts[0], target)
        for part in parts[1:]:
            inner = self._name("t")
            self._put(go_on)
            outside = self._indented()
            self._condition(part, inner)
            self._put(f"if {inner} {keep} {target}: {target} = {inner}")
            self._indent = outside

    def _quantified(self, condition: Quantified, target: str) -> None:
        members = self._fetch(condition.tokens)
        kept = self._member_values, self._member_facts
        self._member_values, self._member_facts = {}, {}
        inner, loop_value = self._name("t"), self._name("m")
        self._put(f"if {members} is None: {target} = 1")
        self._put("else:")
        outside = self._indented()
        self._put(f"{target} = {2 if condition.every else 0}")
        self._put(f"for {loop_value} in {members}:")
        loop = self._indented()
        self._member = loop_value
        self._condition(condition.part, inner)
        self._member = "m"
        comparison, end = ("<", 0) if condition.every else (">", 2)
        self._put(f"if {inner} {comparison} {target}:")
        self._put(f"    {target} = {inner}")
        self._put(f"    if {target} == {end}: break")
        self._indent = loop
        self._indent = outside
        self._member_values, self._member_facts = kept

    def _leaf(self, leaf: Leaf, target: str) -> None:
        operand = self._constant(leaf.operand)
        value = self._value(leaf)
        test = _rename(OPERATORS[leaf.operator].expression, "v_", operand)
        bounds = self._test_of_bounds(leaf) if self._may_be_bounds(leaf) else ""
        self._put(f"{target} = 1 if (v_ := {value}) is None else {bounds}2 if {test} else 0")

    def _may_be_bounds(self, leaf: Leaf) -> bool:
        return leaf.subject is Subject.FACT and self.facts[leaf.name].unit == BOUNDED_UNIT

    def _test_of_bounds(self, leaf: Leaf) -> str:
        """Write what holds where only the bounds of a number are known."""
        operator, operand = OPERATORS[leaf.operator], leaf.operand
        test = self._constant(lambda value: int(truth_of(holds_between(operator, value, operand))))
        return f"{test}(v_) if v_.__class__ is Between else "

    def _value(self, leaf: Leaf) -> str:
        match leaf.subject:
            case Subject.AT:
                return self._fetch(leaf.tokens)
            case Subject.ITS:
                known = self._member_values.get(leaf.tokens)
                return known or _get(self._member, leaf.tokens)
            case Subject.PARAMETER:
                return self._constant(leaf.value)
            case Subject.FACT:
                return self._fact(self.facts[leaf.name])

    def _fact(self, fact: Fact) -> str:
        function = self._constant(fact.compute)
        call = f"{function}({self._member}, d, c)" if fact.about else f"{function}(d, c)"
        if not fact.about and fact.name not in self._card_facts:
            self._card_facts[fact.name] = self._name("k")
        memory = (self._member_facts if fact.about else self._card_facts).get(fact.name)
        return f"({memory} if {memory} is not U else ({memory} := {call}))" if memory else call

    def _fetch(self, tokens: tuple[str, ...]) -> str:
        """Return the name that holds the setting at a place, fetched at the function's head."""
        if tokens not in self._fetches:
            section = self._section(tokens[:-1])
            self._fetches[tokens] = name = self._name("s")
            self._head.append(f"    {name} = {section}.get({tokens[-1]!r})")
        return self._fetches[tokens]

    def _section(self, tokens: tuple[str, ...]) -> str:
        key = (*tokens, "/")  # no member is named so: a section's name differs from its value's
        if not tokens:
            return "d"
        if key not in self._fetches:
            outer = self._section(tokens[:-1])
            self._fetches[key] = name = self._name("s")
            self._head.append(f"    {name} = {outer}.get({tokens[-1]!r}, E)")
        return self._fetches[key]

    def _constant(self, value: Any) -> str:  # noqa: ANN401 - any operand
        if isinstance(value, bool | int):
            return repr(value)
        name = self._name("C")
        self.constants[name] = value
        return name

    def _name(self, kind: str) -> str:
        self._names += 1
        return f"{kind}{self._names}_"

    def _put(self, line: str) -> None:
        self._body.append("    " * self._indent + line)

    def _indented(self) -> int:
        """Indent what follows; return the indent to go back to."""
        before = self._indent
        self._indent += 1
        return before


def _list_of(pair: tuple[int, Rule]) -> tuple[str, ...]:
    return pair[1].for_each_tokens


def _leaves_about_members(rule: Rule) -> Iterable[Leaf]:
    """Yield the leaves of a rule that are not inside an inner list."""
    for condition in (rule.applies_when, rule.require):
        if condition is not None:
            yield from _own_leaves(condition)


def _own_leaves(condition: Condition) -> Iterable[Leaf]:
    match condition:
        case Quantified():
            return
        case AllOf(parts) | AnyOf(parts):
            for part in parts:
                yield from _own_leaves(part)
        case Negation(part):
            yield from _own_leaves(part)
        case _:
            yield from leaves(condition)


def _get(start: str, tokens: Sequence[str]) -> str:
    inner = "".join(f".get({token!r}, E)" for token in tokens[:-1])
    return f"{start}{inner}.get({tokens[-1]!r})"


def _rename(expression: str, value: str, operand: str) -> str:
    """Return an operator's expression with its ``v`` and ``o`` named."""
    return re.sub(r"\b[vo]\b", lambda match: value if match[0] == "v" else operand, expression)
