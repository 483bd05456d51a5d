"""Rulesets and a site's tailoring → a program that judges records; compiled once, where that pays."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache, lru_cache
from typing import TYPE_CHECKING, Any, NamedTuple

from auditor.dataclass import dataclass, replace
from auditor.errors import Fault, RulesetError
from auditor.facts.fact import Context, Fact, Settings
from auditor.record.digests import APART, Digests
from auditor.record.pointer import split
from auditor.rules.condition import Scope, Subject, bind, leaves
from auditor.rules.evaluating import evaluate, evaluate_members
from auditor.rules.placeholder import with_texts_filled
from auditor.rules.result import Outcome, RuleResult
from auditor.rules.rule import Change, Parameter, Rule, Ruleset
from auditor.rules.sharing import Sharing
from auditor.rules.tailoring import SWEEP_INTERVAL, Tailoring
from auditor.rules.unusual import Unusual

if TYPE_CHECKING:
    from auditor.rules.compiling import Judge


@dataclass(frozen=True, slots=True, eq=False)
class Program:
    """Rules ready to judge records; equal only to itself.

    ``rules`` are all of them, parameters bound, those that judge the evidence last.
    ``on_card`` and ``on_evidence`` are the places in ``rules`` of those that the site did not
    set aside: rules that judge the card, and rules that judge how much is known of it.
    """

    rulesets: tuple[Ruleset, ...]
    tailoring: Tailoring
    parameters: Mapping[str, Parameter]
    rules: tuple[Rule, ...]
    facts: Mapping[str, Fact]
    on_card: tuple[int, ...]
    on_evidence: tuple[int, ...]
    usual: tuple[RuleResult, ...]
    """A pass for every rule about the card, nothing for every rule about members."""
    usual_passes: int
    """How many results of ``usual`` are passes, of the rules that judge the card."""

    @property
    def sweep_days(self) -> float | None:
        """Return the days between two sweeps: the site's calendar, else the rulesets' parameter, if any."""
        parameter = self.parameters.get(SWEEP_INTERVAL)
        return self.tailoring.sweep_every_days or (float(parameter.value) if parameter else None)


class Coverage(NamedTuple):
    """How many of the applicable results are decided, over the rules that judge the card.

    Rules on the evidence are left out: the coverage itself is what they judge.
    """

    decided: int
    counted: int

    @property
    def percent(self) -> float | None:
        """Return the share that is decided, 0 to 100; None where nothing applies."""
        return 100 * self.decided / self.counted if self.counted else None


@dataclass(frozen=True, slots=True)
class Judged:
    """What the rules say of a record, where that differs from ``Program.usual``.

    Keys of ``unusual`` are places in ``Program.rules``.
    """

    unusual: Unusual
    coverage: Coverage


def make_program(rulesets: Sequence[Ruleset], tailoring: Tailoring, facts: Mapping[str, Fact]) -> Program:
    """Bind parameters and set aside what the site deselected.

    Raises:
        RulesetError: if two rulesets hold the same rule, or the same parameter differently.
    """
    _refuse_doubles(rulesets)
    parameters = {name: p for ruleset in rulesets for name, p in ruleset.parameters.items()}
    parameters.update(tailoring.parameters)
    values = {name: _frozen(parameter.value) for name, parameter in parameters.items()}
    unbound = (*(rule for ruleset in rulesets for rule in ruleset.rules), *tailoring.rules)
    bound = (with_texts_filled(_bound(rule, values), parameters) for rule in unbound)
    rules = sorted(bound, key=_judges_evidence)
    selected = [place for place, rule in enumerate(rules) if rule.id not in tailoring.deselected]
    card = tuple(place for place in selected if not rules[place].judges_evidence)
    evidence = tuple(place for place in selected if rules[place].judges_evidence)
    usual = tuple(_usual(rule, tailoring) for rule in rules)
    return Program(
        tuple(rulesets),
        tailoring,
        parameters,
        tuple(rules),
        facts,
        card,
        evidence,
        usual,
        sum(usual[place].passed for place in card),
    )


FEW_RECORDS = 8
"""From so many records on compiling pays; our own figure, measured."""


def judge_card(
    program: Program, settings: Settings, context: Context, *,
    compiled: bool = True, known: "Unusual | Shared | None" = None,
) -> Judged:  # fmt: skip
    """Return what the rules say of a record.

    Compiled, a function finds what is not a plain pass, and only that is read again for its
    evidence; compiling pays from ``FEW_RECORDS`` on. A fact that fails makes an ``error``
    of the rules that use it, and of no other. ``known`` are the unusual results of the lasting
    rules, where these judged the very same record before: then only the others judge it. Or it is what
    records of this run share, by ``sharing_of`` this program and this context.
    """
    if known is None:
        found = _judge(program, program.on_card, settings, context, compiled=compiled)
    elif isinstance(known, Shared):
        found = known.sharing.judge(settings, known.digests)
    else:
        passing = _judge(program, passing_places(program), settings, context, compiled=compiled)
        found = known.and_also(passing)
    coverage = coverage_of(program, found)
    if program.on_evidence:
        informed = context.with_coverage(coverage.percent)
        evident = _judge(program, program.on_evidence, settings, informed, compiled=compiled)
        found = found.and_also(evident)
    return Judged(found, coverage)


class Shared(NamedTuple):
    """What the records of a run share, and the digests of one of them."""

    sharing: Sharing
    digests: Digests


def sharing_of(program: Program, context: Context) -> Sharing:
    """Return what the records share that a program judges in one context; new for each run."""

    def judge(places: tuple[int, ...], settings: Settings) -> Unusual:
        return _judge(program, places, settings, context, compiled=True)

    return Sharing(_by_parts(program), judge)


def _by_parts(program: Program) -> Iterable[tuple[int, ...]]:
    """Return the places of the rules on the card, those together that say they rest on the same."""
    groups: dict[frozenset[str], list[int]] = {}
    for place in program.on_card:
        groups.setdefault(frozenset(_parts(program.rules[place], program.facts)), []).append(place)
    return map(tuple, groups.values())


def _parts(rule: Rule, facts: Mapping[str, Fact]) -> Iterator[str]:
    """Yield the parts that a rule names, or its facts: good enough for putting rules together."""
    if rule.for_each:
        yield _part(rule.for_each_tokens)
    for condition in (rule.require,) if rule.applies_when is None else (rule.applies_when, rule.require):
        for leaf in leaves(condition):
            if leaf.subject is Subject.AT:
                yield _part(leaf.tokens)
            elif leaf.subject is Subject.FACT:
                fact = facts[leaf.name]
                yield from (
                    _part(split(pointer)) for pointer in ((fact.about,) if fact.about else fact.reads)
                )


def _part(tokens: tuple[str, ...]) -> str:
    """Return the name of ``Digests`` under which a setting falls."""
    return "/".join(tokens[: 2 if tokens[0] in APART else 1])


@lru_cache(maxsize=8)
def passing_places(program: Program) -> tuple[int, ...]:
    """Return the places, in ``on_card``, of the rules that ask for the moment of the audit.

    The others are lasting: they say the same of the same record on every day.
    """
    return tuple(place for place in program.on_card if _asks_the_moment(program.rules[place], program.facts))


def _asks_the_moment(rule: Rule, facts: Mapping[str, Fact]) -> bool:
    conditions = [rule.require] if rule.applies_when is None else [rule.applies_when, rule.require]
    return any(
        leaf.subject is Subject.FACT and facts[leaf.name].by_day
        for condition in conditions
        for leaf in leaves(condition)
    )


def all_results(program: Program, unusual: Mapping[int, RuleResult]) -> tuple[RuleResult, ...]:
    """Return one result for every rule, in the order of ``program.rules``."""
    return tuple(unusual.get(place, usual) for place, usual in enumerate(program.usual))


def coverage_of(program: Program, unusual: Unusual) -> Coverage:
    """Return how much is decided, by the unusual results of the rules that judge the card."""
    counted, undecided, usual = program.usual_passes, 0, program.usual
    for batch in unusual.batches:
        counted += batch.counted
    for place, result in unusual.single.items():
        counted += result.counted - usual[place].counted
        for departure in result.departures:
            undecided += departure.outcome in _OPEN
    return Coverage(counted - undecided, counted)


_OPEN = (Outcome.UNKNOWN, Outcome.ERROR)


def _judge(
    program: Program, places: tuple[int, ...], settings: Settings, context: Context, *, compiled: bool
) -> Unusual:
    if not compiled:
        return _judge_plainly(program, places, Scope(settings, context, program.facts))
    try:
        batches, passed, departing = _compiled(program, places)(settings, context)
    except Exception:  # noqa: BLE001 - a fact failed: read rule by rule, so that only its rules err
        return _judge_plainly(program, places, Scope(settings, context, program.facts))
    if not departing and not passed:
        return Unusual(batches, {})
    scope = Scope(settings, context, program.facts)
    rules, departures = program.rules, _by_place(departing)
    single = {
        place: evaluate(rules[place], scope)
        if members is None
        else evaluate_members(rules[place], scope, members, passed.get(place, 0))
        for place, members in departures.items()
    }
    for place, number in passed.items():
        if place not in single:
            single[place] = undisputed(rules[place], number)
    return Unusual(batches, single)


def _by_place(departing: Sequence[tuple[int, int]]) -> Mapping[int, list[int] | None]:
    """Return the members that departed by place; None where the rule was read as a whole."""
    found: dict[int, list[int] | None] = {}
    for place, member in departing:
        known = found.setdefault(place, None if member < 0 else [])
        if known is not None:
            known.append(member)
    return found


def _judge_plainly(program: Program, places: tuple[int, ...], scope: Scope) -> Unusual:
    results = ((place, evaluate(program.rules[place], scope)) for place in places)
    usual = program.usual
    unusual = {
        place: result
        for place, result in results
        if (result.outcome, result.passed) != (usual[place].outcome, usual[place].passed)
    }
    return Unusual((), unusual)


@lru_cache(maxsize=256)
def _compiled(program: Program, places: tuple[int, ...]) -> "Judge":
    from auditor.rules.compiling import compile_rules  # a run on a few records never needs it

    return compile_rules({place: program.rules[place] for place in places}, program.facts, undisputed)


@cache
def undisputed(rule: Rule, passed: int) -> RuleResult:
    """Return the result of a rule of which so many results pass, and no other applies."""
    return RuleResult(rule, Outcome.PASS if passed else Outcome.NOTAPPLICABLE, passed, passed)


def _usual(rule: Rule, tailoring: Tailoring) -> RuleResult:
    if rule.id in tailoring.deselected:
        return RuleResult(rule, Outcome.NOTSELECTED, 0, 0)
    return undisputed(rule, 0 if rule.for_each else 1)


def _bound(rule: Rule, values: Mapping[str, Any]) -> Rule:
    applies = None if rule.applies_when is None else bind(rule.applies_when, values)
    settings = tuple(_bound_changes(rule.mend.settings, values))
    secrets = tuple(_bound_changes(rule.mend.new_secrets, values))
    mend = replace(rule.mend, settings=settings, new_secrets=secrets)
    return replace(rule, applies_when=applies, require=bind(rule.require, values), mend=mend)


def _bound_changes(changes: Iterable[Change], values: Mapping[str, Any]) -> Iterator[Change]:
    """Yield changes with the values in force; where a site allows nothing, nothing would pass."""
    for change in changes:
        value = values[change.parameter] if change.parameter else change.value
        if change.is_first and not value:
            continue
        yield replace(change, value=value[0] if change.is_first else value)


def _frozen(value: Any) -> Any:  # noqa: ANN401 - any TOML value
    return tuple(value) if isinstance(value, list) else value


def _judges_evidence(rule: Rule) -> bool:
    return rule.judges_evidence


def _refuse_doubles(rulesets: Sequence[Ruleset]) -> None:
    faults = []
    rules: dict[str, Rule] = {}
    parameters: dict[str, tuple[Parameter, str]] = {}
    for ruleset in rulesets:
        for rule in ruleset.rules:
            first = rules.setdefault(rule.id, rule)
            if first is not rule:
                problem = f"rule {rule.id} stands in {first.file} too"
                faults.append(Fault(ruleset.file, "", 0, 0, problem, "Give one of them another id."))
        for name, parameter in ruleset.parameters.items():
            held, file = parameters.setdefault(name, (parameter, ruleset.file))
            if held != parameter:
                problem = f"parameter {name} differs from the one in {file}"
                faults.append(Fault(ruleset.file, "", 0, 0, problem, "Rename one of them."))
    if faults:
        raise RulesetError(faults)
