"""Rulesets and a site's tailoring → a program that judges records, compiled once."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any

from auditor.errors import Fault, RulesetError
from auditor.facts.fact import Context, Fact, Settings
from auditor.rules.compiling import Judge, compile_rules
from auditor.rules.condition import Scope, bind
from auditor.rules.evaluating import evaluate
from auditor.rules.result import Outcome, RuleResult
from auditor.rules.rule import Parameter, Rule, Ruleset
from auditor.rules.tailoring import Tailoring


@dataclass(frozen=True, slots=True, eq=False)
class Program:
    """Rules ready to judge records; equal only to itself.

    ``rules`` are all of them, parameters bound, those that judge the evidence last. The
    places are those of the rules that ``on_card`` and ``on_evidence`` judge: all that the
    site did not set aside.
    """

    rulesets: tuple[Ruleset, ...]
    tailoring: Tailoring
    parameters: Mapping[str, Parameter]
    rules: tuple[Rule, ...]
    facts: Mapping[str, Fact]
    on_card: Judge
    on_card_places: tuple[int, ...]
    on_evidence: Judge
    on_evidence_places: tuple[int, ...]
    usual: tuple[RuleResult, ...]
    """A pass for every rule about the card, nothing for every rule about members."""
    usual_passes: int
    """How many results of ``usual`` are passes."""


def make_program(rulesets: Sequence[Ruleset], tailoring: Tailoring, facts: Mapping[str, Fact]) -> Program:
    """Bind parameters, set aside what the site deselected, and compile.

    Raises:
        RulesetError: if two rulesets hold the same rule, or the same parameter differently.
    """
    _refuse_doubles(rulesets)
    parameters = {name: p for ruleset in rulesets for name, p in ruleset.parameters.items()}
    parameters.update(tailoring.parameters)
    values = {name: _frozen(parameter.value) for name, parameter in parameters.items()}
    unbound = [rule for ruleset in rulesets for rule in ruleset.rules]
    rules = sorted((_bound(rule, values) for rule in (*unbound, *tailoring.rules)), key=_judges_evidence)
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
        compile_rules([rules[place] for place in card], facts),
        card,
        compile_rules([rules[place] for place in evidence], facts),
        evidence,
        usual,
        sum(result.passed for result in usual),
    )


def judge_card(program: Program, settings: Settings, context: Context) -> dict[int, RuleResult]:
    """Return what the rules say of a record, where that differs from ``program.usual``.

    Keys are places in ``program.rules``. The compiled function finds what is not a plain pass;
    only that is read again for its evidence. A fact that fails makes an ``error`` of the rules
    that use it, and of no other.
    """
    scope = Scope(settings, context, program.facts)
    found = _judge(program, (program.on_card, program.on_card_places), scope)
    if program.on_evidence_places:
        informed = replace(context, coverage_percent=coverage_percent(program, found))
        scope = Scope(settings, informed, program.facts)
        found.update(_judge(program, (program.on_evidence, program.on_evidence_places), scope))
    return found


def all_results(program: Program, unusual: Mapping[int, RuleResult]) -> tuple[RuleResult, ...]:
    """Return one result for every rule, in the order of ``program.rules``."""
    return tuple(unusual.get(place, usual) for place, usual in enumerate(program.usual))


def coverage_percent(program: Program, unusual: Mapping[int, RuleResult]) -> float | None:
    """Return the share of applicable results that are decided, in percent; None for none."""
    counted = program.usual_passes + sum(
        result.counted - program.usual[place].counted for place, result in unusual.items()
    )
    undecided = sum(
        departure.outcome is Outcome.UNKNOWN or departure.outcome is Outcome.ERROR
        for result in unusual.values()
        for departure in result.departures
    )
    return 100 * (counted - undecided) / counted if counted else None


def _judge(
    program: Program, judge_and_places: tuple[Judge, Sequence[int]], scope: Scope
) -> dict[int, RuleResult]:
    judge, places = judge_and_places
    try:
        found = judge(scope.record, scope.context)
    except Exception:  # noqa: BLE001 - a fact failed: read rule by rule, so that only its rules err
        return {place: evaluate(program.rules[place], scope) for place in places}
    results = {}
    for index, passed, failed, unknown in found:
        place = places[index]
        rule = program.rules[place]
        results[place] = evaluate(rule, scope) if failed or unknown else _undisputed(rule, passed)
    return results


@cache
def _undisputed(rule: Rule, passed: int) -> RuleResult:
    return RuleResult(rule, Outcome.PASS if passed else Outcome.NOTAPPLICABLE, passed, passed)


def _usual(rule: Rule, tailoring: Tailoring) -> RuleResult:
    if rule.id in tailoring.deselected:
        return RuleResult(rule, Outcome.NOTSELECTED, 0, 0)
    return _undisputed(rule, 0 if rule.for_each else 1)


def _bound(rule: Rule, values: Mapping[str, Any]) -> Rule:
    applies = None if rule.applies_when is None else bind(rule.applies_when, values)
    return replace(rule, applies_when=applies, require=bind(rule.require, values))


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
