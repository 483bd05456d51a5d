"""Programs: parameters bound, rules set aside, errors kept to the rules that they are of."""

import pytest

from auditor.errors import RulesetError
from auditor.rules.condition import Leaf, Subject
from auditor.rules.program import Judged, Program, all_results, coverage_of, judge_card, make_program
from auditor.rules.result import Outcome
from auditor.rules.rule import Change, Mend, Parameter, Rule
from auditor.rules.tailoring import Tailoring
from tests.rules.small import CONTEXT, FACTS, PARAMETERS, at, its, of_fact, rule, ruleset

BOTH = pytest.mark.parametrize("compiled", [True, False], ids=["compiled", "plain"])
STRICTER = Tailoring(parameters={"limit_s": Parameter("limit_s", 60, "s", "m", "s")})


def program_of(*rules: Rule, tailoring: Tailoring | None = None) -> Program:
    """Return the program of some rules."""
    return make_program([ruleset(*rules)], tailoring or Tailoring(), FACTS)


def outcomes(program: Program, judged: Judged) -> dict[str, Outcome]:
    """Return the outcome of each rule by its id."""
    return {result.rule.id: result.outcome for result in all_results(program, judged.unusual)}


@BOTH
def test_a_fact_that_fails_makes_an_error_of_its_rules_only(*, compiled: bool) -> None:
    """The others are judged as ever, those about members too."""
    program = program_of(
        rule(at("/on"), name="good"),
        rule(at("/off"), name="bad"),
        rule(of_fact("breaks"), name="broken"),
        rule(of_fact("breaks"), at("/off"), name="not-asked"),
        rule(its("/on"), each="/accounts", name="members"),
    )
    record = {"on": True, "off": False, "accounts": [{"on": True}]}
    assert outcomes(program, judge_card(program, record, CONTEXT, compiled=compiled)) == {
        "good": Outcome.PASS,
        "bad": Outcome.FAIL,
        "broken": Outcome.ERROR,
        "not-asked": Outcome.NOTAPPLICABLE,
        "members": Outcome.PASS,
    }


@BOTH
def test_a_fact_that_fails_for_a_member_leaves_the_other_members(*, compiled: bool) -> None:
    """One account is an error, the other passes."""
    program = program_of(rule(of_fact("breaks_on_odd"), each="/accounts"))
    judged = judge_card(program, {"accounts": [{"name": "odd"}, {"name": "b"}]}, CONTEXT, compiled=compiled)
    (result,) = judged.unusual.values()
    assert (result.outcome, result.passed, result.counted) == (Outcome.ERROR, 1, 2)


@BOTH
def test_an_error_is_not_decided(*, compiled: bool) -> None:
    """Of four results one erred and one is unknown: half are covered."""
    program = program_of(
        rule(at("/on"), name="good"),
        rule(at("/off"), name="bad"),
        rule(at("/missing"), name="unknown"),
        rule(of_fact("breaks"), name="broken"),
    )
    judged = judge_card(program, {"on": True, "off": False}, CONTEXT, compiled=compiled)
    assert judged.coverage.percent == 50.0


def test_coverage_of_nothing_is_none() -> None:
    """Where no rule applies there is no share to tell."""
    program = program_of(rule(at("/on"), at("/here")))
    judged = judge_card(program, {"here": False}, CONTEXT)
    assert judged.coverage.percent is None
    assert coverage_of(program, judged.unusual).percent is None


def test_parameters_of_the_site_are_bound_everywhere() -> None:
    """In what is required, in the values of a mend, and in the texts."""
    leaf = Leaf(Subject.AT, "/timeout_s", "at_most", 900, "limit_s", ("timeout_s",))
    mend = Mend("Set {limit_s}.", (Change("/timeout_s", 900, "limit_s"),))
    (bound,) = program_of(rule(leaf, mend=mend), tailoring=STRICTER).rules
    assert isinstance(bound.require, Leaf)
    assert bound.require.operand == 60
    assert bound.mend == Mend("Set 60 s.", (Change("/timeout_s", 60, "limit_s"),))


@pytest.mark.parametrize(("allowed", "values"), [(["b", "c"], ["b"]), ([], [])])
def test_a_mend_takes_the_first_value_that_a_site_allows(allowed: list[str], values: list[str]) -> None:
    """Where the site allows none, no value is said to pass."""
    mend = Mend("m", (Change("/segment", "a", "kinds", is_first=True),))
    kinds = Tailoring(parameters={"kinds": Parameter("kinds", allowed, "", "m", "s")})
    (bound,) = program_of(rule(mend=mend), tailoring=kinds).rules
    assert [change.value for change in bound.mend.settings] == values


def test_a_rule_set_aside_is_not_selected_and_not_judged() -> None:
    """Not even its facts are computed."""
    program = program_of(
        rule(of_fact("breaks"), name="broken"), tailoring=Tailoring(deselected={"broken": "r"})
    )
    assert outcomes(program, judge_card(program, {}, CONTEXT)) == {"broken": Outcome.NOTSELECTED}


def test_rules_on_the_evidence_come_last_and_know_the_coverage() -> None:
    """They stand behind the others and do not count in the coverage themselves."""
    program = program_of(
        rule(at("/missing"), name="late", judges_evidence=True), rule(at("/on"), name="early")
    )
    assert [each.id for each in program.rules] == ["early", "late"]
    assert judge_card(program, {"on": True}, CONTEXT).coverage.percent == 100.0


def test_two_rulesets_with_one_rule_or_two_values_of_a_parameter_are_refused() -> None:
    """Each is told once, with the file that has it too."""
    one, other = ruleset(rule()), ruleset(rule())
    with pytest.raises(RulesetError) as caught:
        make_program([one, other], Tailoring(), FACTS)
    assert [fault.problem for fault in caught.value.faults] == ["rule odd stands in small.toml too"]


def test_parameters_are_those_of_the_rulesets_and_the_site() -> None:
    """The site's value wins."""
    assert program_of(rule()).parameters == PARAMETERS
    assert program_of(rule(), tailoring=STRICTER).parameters["limit_s"].value == 60
