"""A site's own choices: what they change, and how faults in them are worded."""

import pytest

from auditor.errors import RulesetError
from auditor.facts.catalogue import FACTS
from auditor.facts.fact import Context
from auditor.rules.loading import load_ruleset
from auditor.rules.program import all_results, judge_card, make_program
from auditor.rules.result import Outcome
from auditor.rules.rule import Ruleset
from auditor.rules.tailoring import Tailoring, read_site_file, tailor
from tests.rules.matrix import AS_OF, Case, card_of

RULESET = b"""
[ruleset]
name = "small"
title = "Two rules"
version = "1"
[parameters.timeout_s]
value = 900
unit = "s"
meaning = "Longest session without activity."
source = "common practice, no source"
[[rule]]
id = "timeout-long"
title = "Sessions last too long"
family = "access-policy"
require = { at = "/access_policy/session_timeout_s", at_most = { parameter = "timeout_s" } }
severity = { vector = "AV:N/AC:L/Au:N/C:P/I:P/A:P", because = "a session left open is an open door" }
why = "w"
mend = { text = "m" }
verify = "v"
sources = ["s"]
[[rule]]
id = "telnet-enabled"
title = "Telnet is enabled"
family = "services"
require = { at = "/services/telnet/enabled", equals = false }
severity = { vector = "AV:N/AC:L/Au:N/C:P/I:P/A:P", because = "clear text" }
why = "w"
mend = { text = "m" }
verify = "v"
sources = ["s"]
"""

OWN_RULE = """
[[rule]]
id = "own-name"
title = "The card has another name"
family = "site"
require = { at = "/card/name", equals = "UPS A, room N1" }
severity = { vector = "AV:N/AC:L/Au:N/C:N/I:P/A:N", because = "b" }
why = "w"
mend = { text = "m" }
verify = "v"
sources = ["the site"]
"""


def small() -> Ruleset:
    """Return a ruleset of two rules."""
    return load_ruleset(RULESET, "small.toml", FACTS)


def tailored(text: str) -> Tailoring:
    """Return the choices of a site's file over the small ruleset."""
    return tailor(read_site_file(text.encode(), "witnessmark.toml"), [small()], FACTS)


def outcomes(tailoring: Tailoring) -> dict[str, Outcome]:
    """Return what the small ruleset says of the compliant card."""
    program = make_program([small()], tailoring, FACTS)
    card = card_of(Case("", 0, "", Outcome.PASS, (), (), {}, None, None))
    found = judge_card(program, card, Context(AS_OF))
    return {result.rule.id: result.outcome for result in all_results(program, found.unusual)}


def faults(text: str) -> list[str]:
    """Return the faults of a site's file, in words."""
    with pytest.raises(RulesetError) as caught:
        tailored(text)
    return [str(fault) for fault in caught.value.faults]


def test_without_choices_the_ruleset_stands() -> None:
    """The compliant card passes both rules."""
    assert outcomes(Tailoring()) == {"timeout-long": Outcome.PASS, "telnet-enabled": Outcome.PASS}


def test_a_changed_parameter_changes_the_outcome() -> None:
    """600 s passes at 900 s and fails at 60 s."""
    assert outcomes(tailored("[parameters]\ntimeout_s = 60\n"))["timeout-long"] is Outcome.FAIL


def test_a_deselected_rule_is_not_selected() -> None:
    """A rule that was set aside with a reason stays visible as notselected."""
    found = outcomes(tailored('[deselect]\ntelnet-enabled = "serial only"\n'))
    assert found["telnet-enabled"] is Outcome.NOTSELECTED


def test_a_site_adds_rules_of_its_own() -> None:
    """A rule in the site's file is judged like any other."""
    assert outcomes(tailored(OWN_RULE))["own-name"] is Outcome.PASS


def test_an_unknown_parameter_names_the_nearest() -> None:
    """A misspelt parameter is a fault with its line and the nearest name."""
    assert faults("[parameters]\ntimeout = 60\n") == [
        "witnessmark.toml:2: /parameters/timeout: no parameter timeout\n  Did you mean timeout_s?"
    ]


def test_a_parameter_keeps_its_kind() -> None:
    """A text can't replace a number."""
    assert "parameter timeout_s is a number" in faults('[parameters]\ntimeout_s = "long"\n')[0]


def test_every_fault_is_reported_in_file_order() -> None:
    """An unknown parameter and an unknown rule are reported together."""
    found = faults('[parameters]\nx = 1\n[deselect]\ntelnet-on = "r"\n')
    assert [line.split(":")[1] for line in found] == ["2", "4"]


def test_faults_of_shape_and_of_sense_come_in_one_round() -> None:
    """What stands in the file's head, in its tables and in own rules, sound or not, is all told at once."""
    nowhere = OWN_RULE.replace("/card/name", "/card/nome")
    head = """\
[site]
operator = 5
hold_at = "hihg"
[sweep]
every_days = 0
[parameters]
timeout_s = "long"
[deselect]
telnet-on = "r"
timeout-long = ""
"""
    half = nowhere.replace('verify = "v"', "verify = 5").replace("AV:N/AC:L/Au:N", "AV:N/AC:L")
    found = faults(head + half + OWN_RULE.replace("own-name", "telnet-enabled"))
    assert [fault.partition(" ")[2].partition(":")[0] for fault in found] == [
        "/site/operator",
        "/site/hold_at",
        "/sweep/every_days",
        "/parameters/timeout_s",
        "/deselect/telnet-on",
        "/deselect/timeout-long",
        "/rule/0/require/at",
        "/rule/0/severity/vector",
        "/rule/0/verify",
        "/rule/1/id",
    ]


@pytest.mark.parametrize(
    "spoilt", ["sweep = 5", "parameters = 5", "deselect = 5", "environment = 5", "rule = 5"]
)
def test_a_table_that_is_none_hides_no_other_fault(spoilt: str) -> None:
    """It is told beside an unknown name in another table."""
    other = "deselect" if not spoilt.startswith("deselect") else "parameters"
    found = faults(f'{spoilt}\n[{other}]\nnowhere = "r"\n')
    assert [fault.partition(" ")[2].partition(":")[0] for fault in found] == [
        f"/{spoilt.partition(' ')[0]}",
        f"/{other}/nowhere",
    ]


@pytest.mark.parametrize("head", ["site = 5", '[site]\nrulesets = "small"'])
def test_without_rulesets_nothing_is_said_to_be_unknown(head: str) -> None:
    """Which parameters there are depends on them: what would hang on that is not told."""
    (found,) = faults(f"{head}\n[parameters]\nown_limit_s = 5\n")
    assert found.partition(" ")[2].startswith("/site")


def test_a_change_that_is_no_table_is_told_as_one() -> None:
    """A mend's change is one of two kinds of table; neither is described by its own members."""
    (found,) = faults(OWN_RULE.replace('text = "m"', 'text = "m", set = ["/card/name"]'))
    assert "/rule/0/mend/set/0: expected an object; found text" in found


def test_an_own_rule_can_not_take_a_shipped_id() -> None:
    """Two rules of one id would be ambiguous in every report."""
    assert "stands in a ruleset" in faults(OWN_RULE.replace("own-name", "telnet-enabled"))[0]


def test_two_rulesets_with_one_rule_are_refused() -> None:
    """The same rule id in two rulesets is a fault that names both files."""
    with pytest.raises(RulesetError, match=r"stands in small\.toml too"):
        make_program([small(), small()], Tailoring(), FACTS)
