"""Rules → one Python function that gives their outcomes, for speed; it gathers no evidence.

``condition.judge`` says what a condition means. This module writes the same meaning out as
straight Python: every setting is fetched once where it is needed, every list walked once for all
its rules, and what rules apply to is asked once for all rules that apply to the same. A property
test holds the two equal over random records.

A result that is no plain pass is read again for its evidence. So a rule is asked only whether it
surely holds, and what it applies to whether that is surely so, or surely not.
"""

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from functools import cache
from itertools import chain, groupby
from typing import Any, Final, TypeAlias

from auditor.facts.between import Between
from auditor.facts.fact import Context, Fact, Settings
from auditor.rules.code import RECORD, Code, Tokens
from auditor.rules.condition import Condition, Subject
from auditor.rules.expression import Expressions, settings_of
from auditor.rules.result import RuleResult
from auditor.rules.rule import Rule
from auditor.rules.unusual import Batch, batch_of

WHOLE: Final = -1
"""Stands in for the index of a member where a result is about the card, or about a missing list."""

Departing: TypeAlias = list[tuple[int, int]]
"""For each result that fails or is unknown, the place of its rule and the index of its member, or
``WHOLE``, by list."""

Judge: TypeAlias = Callable[[Settings, Context], tuple[list[Batch], dict[int, int], Departing]]
"""Gives the results without departures where they are not the usual ones (a pass of a rule about
the card, nothing for a rule about members), in batches; then, by place, how many results pass of
the rules of lists on which a rule departs; then the departures."""

Undisputed: TypeAlias = Callable[[Rule, int], RuleResult]
"""Gives the result of a rule of which so many results pass, and no other applies."""

_Placed: TypeAlias = Sequence[tuple[int, Rule]]
"""Rules with their places."""

_MISSING = object()


def compile_rules(rules: Mapping[int, Rule], facts: Mapping[str, Fact], undisputed: Undisputed) -> Judge:
    """Return the function that judges records by rules, by place, parameters already bound."""
    code = Code()
    _Writer(code, facts, undisputed).write(list(rules.items()))
    names: dict[str, Any] = {
        "E": {},
        "U": _MISSING,
        "Between": Between,
        **code.constants,
    }
    exec(compile(code.text(), "<compiled rules>", "exec"), names)  # noqa: S102 - own text, see Code
    judge: Judge = names["judge"]
    return judge


class _Writer:
    """Writes the function, rule by rule."""

    def __init__(self, code: Code, facts: Mapping[str, Fact], undisputed: Undisputed) -> None:
        self._code = code
        self._facts = facts
        self._undisputed = undisputed

    def write(self, rules: _Placed) -> None:
        """Write the rules on the card, then list by list those on members."""
        self._asking = Expressions(self._code, self._facts, [rule for _, rule in rules])
        members = sorted((pair for pair in rules if pair[1].for_each), key=_list_of)
        with self._code.block(f"def judge({RECORD}, c):"):
            self._code.put("out, left, bad = [], {}, []")
            if self._asking.kept:
                self._code.put(f"{' = '.join(self._asking.kept)} = U")
            self._card_rules([pair for pair in rules if not pair[1].for_each])
            for _, group in groupby(members, key=_list_of):
                self._member_rules(list(group))
            self._code.put("return out, left, bad")

    def _card_rules(self, rules: _Placed) -> None:
        groups = _by_precondition(rules)
        self._fetch_shared(RECORD, groups)
        for condition, group in groups.items():
            if condition is None:
                self._requirements(group)
                continue
            surely, surely_not = self._both(condition)
            with self._code.block(f"if {surely}:"):
                self._requirements(group)
            nothing = self._code.constant(_batches(group, self._undisputed)(0))
            self._code.put(f"elif {surely_not}: out.append({nothing})")
            self._code.put(f"else: bad.extend({self._code.constant(_wholes(group))})")

    def _requirements(self, rules: _Placed) -> None:
        for place, rule in rules:
            holds = self._asking.ask(rule.require, wanted=True)
            self._code.put(f"if not {holds}: bad.append(({place}, {WHOLE}))")

    def _both(self, condition: Condition) -> tuple[str, str]:
        return self._asking.ask(condition, wanted=True), self._asking.ask(condition, wanted=False)

    def _member_rules(self, rules: _Placed) -> None:
        members = self._code.fetch(RECORD, rules[0][1].for_each_tokens)
        groups = _by_precondition(rules)
        with self._code.block(f"if {members} is None:"):
            self._missing_list(groups)
        with self._code.block(f"elif {members}:"):
            self._listed(rules, groups, members)

    def _missing_list(self, groups: Mapping[Condition | None, _Placed]) -> None:
        """Write what holds of a member of which nothing is known: unknown, or not applicable."""
        self._asking.begin_member("E", ())
        for condition, group in groups.items():
            unknown = f"bad.extend({self._code.constant(_wholes(group))})"
            surely_not = "False" if condition is None else self._asking.ask(condition, wanted=False)
            self._code.put(f"if not {surely_not}: {unknown}")

    def _listed(self, rules: _Placed, groups: Mapping[Condition | None, _Placed], members: str) -> None:
        """Write the walk over a list, and what passes of each rule behind it.

        Of all rules with one precondition as many results count: those of a rule that pass are
        found by counting its departures, which are rare.
        """
        code = self._code
        for tokens in settings_of([rule for _, rule in rules], Subject.AT):
            code.fetch(RECORD, tokens)  # outside the walk
        self._asking.walk_lists(rule for _, rule in rules)
        counts = {condition: code.name("n") for condition in groups}
        unknown = (f"{count}u" for count in counts.values())
        code.put(f"{' = '.join([*counts.values(), *unknown, *(f'f{place}' for place, _ in rules)])} = 0")
        with code.block(f"for n, m in enumerate({members}):"):
            self._member(rules, groups, counts)
        for condition, group in groups.items():
            self._passes(group, counts[condition])

    def _passes(self, rules: _Placed, count: str) -> None:
        """Write what passes of rules with one precondition, behind the walk over their list."""
        code = self._code
        with code.block(f"if {count}:"):
            departed = " or ".join([f"{count}u", *(f"f{place}" for place, _ in rules)])
            with code.block(f"if {departed}:"):
                for place, _ in rules:
                    code.put(f"left[{place}] = {count} - f{place}")
            code.put(f"else: out.append({code.constant(_batches(rules, self._undisputed))}({count}))")

    def _member(
        self,
        rules: _Placed,
        groups: Mapping[Condition | None, _Placed],
        counts: Mapping[Condition | None, str],
    ) -> None:
        code = self._code
        kept = self._asking.begin_member("m", [rule for _, rule in rules])
        if kept:
            code.put(f"{' = '.join(kept)} = U")
        self._fetch_shared("m", groups)
        for condition, group in groups.items():
            if condition is None:
                self._count(group, counts[condition])
                continue
            surely, surely_not = self._both(condition)
            with code.block(f"if {surely}:"):
                self._count(group, counts[condition])
            with code.block(f"elif not {surely_not}:"):
                code.put(f"{counts[condition]}u = 1")
                code.put(f"bad.extend(({''.join(f'({place}, n), ' for place, _ in group)}))")

    def _count(self, rules: _Placed, count: str) -> None:
        self._code.put(f"{count} += 1")
        for place, rule in rules:
            holds = self._asking.ask(rule.require, wanted=True)
            with self._code.block(f"if not {holds}:"):
                self._code.put(f"f{place} += 1")
                self._code.put(f"bad.append(({place}, n))")

    def _fetch_shared(self, root: str, groups: Mapping[Condition | None, _Placed]) -> None:
        """Fetch what several groups need before all of them; the rest where its group needs it."""
        subject = Subject.AT if root == RECORD else Subject.ITS
        uses = Counter(
            chain.from_iterable(_fetches([rule for _, rule in group], subject) for group in groups.values())
        )
        for (tokens, is_section), times in uses.items():
            if times > 1:
                (self._code.section if is_section else self._code.fetch)(root, tokens)


def _list_of(pair: tuple[int, Rule]) -> Tokens:
    return pair[1].for_each_tokens


def _by_precondition(rules: _Placed) -> Mapping[Condition | None, _Placed]:
    """Return the rules by what they apply to, first those that always apply."""
    groups: dict[Condition | None, list[tuple[int, Rule]]] = {None: []}
    for place, rule in rules:
        groups.setdefault(rule.applies_when, []).append((place, rule))
    return {condition: group for condition, group in groups.items() if group}


def _wholes(rules: _Placed) -> tuple[tuple[int, int], ...]:
    return tuple((place, WHOLE) for place, _ in rules)


def _batches(rules: _Placed, undisputed: Undisputed) -> Callable[[int], Batch]:
    """Return the function that gives the results of rules of which equally many results pass."""
    return cache(lambda count: batch_of({place: undisputed(rule, count) for place, rule in rules}))


def _fetches(rules: Sequence[Rule], subject: Subject) -> set[tuple[Tokens, bool]]:
    """Return the settings that rules read, and the sections that these stand in, marked by true."""
    settings = set(settings_of(rules, subject))
    sections = {(tokens[:size], True) for tokens in settings for size in range(1, len(tokens))}
    return sections | {(tokens, False) for tokens in settings}
