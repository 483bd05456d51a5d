"""Rulesets as files: what they become, and how an author's faults are told."""

import pickle
import re
from textwrap import indent
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.errors import Fault, RulesetError
from auditor.rules.condition import Leaf, Subject
from auditor.rules.loading import load_ruleset
from auditor.rules.rule import Change, Parameter, Visit
from tests.rules.author import FACTS

FILE: Final = "site/rules.toml"

SOUND: Final = """\
[ruleset]
name = "demo"
title = "Demo rules"
version = "1.2"

[parameters.length_minimum]
value = 12
unit = "characters"
meaning = "Shortest password that is accepted."
source = "NIST SP 800-63B"

[[rule]]
id = "telnet-enabled"
title = "Telnet is switched on"
family = "services"
require = { at = "/services/telnet/enabled", equals = false }
severity = { vector = "AV:N/AC:L/Au:N/C:P/I:P/A:P", because = "Anyone on the way can read it." }
why = "Passwords travel in clear."
mend = { text = "Switch telnet off.", set = [{ at = "/services/telnet/enabled", to = false }] }
verify = "A connection to port 23 is refused."
sources = ["common practice, no source"]
visit = { cuts_access = true, after = ["ssh-disabled"] }

[[rule]]
id = "role-too-high"
title = "An account has more rights than it needs"
family = "credentials"
for_each = "/accounts"
applies_when = { its = "/enabled", equals = true }
require = { any_of = [
    { its = "/role", equals = "viewer" },
    { fact = "name_is_odd", equals = false },
] }
unknown_matters = true
severity = { vector = "AV:N/AC:L/Au:S/C:P/I:P/A:P", because = "An insider needs no more." }
why = "Rights that nobody needs are rights for whoever takes the account."
mend = { text = "Give the account the role of viewer.", set = [{ its = "/role", to = "viewer" }] }
verify = "The account can't change a setting."
sources = ["NIST SP 800-53r5 AC-6"]
"""


def faults_of(text: str | bytes) -> tuple[Fault, ...]:
    """Return the faults that loading a ruleset tells."""
    with pytest.raises(RulesetError) as caught:
        load_ruleset(text if isinstance(text, bytes) else text.encode(), FILE, FACTS)
    return caught.value.faults


def line_holding(text: str, part: str) -> int:
    """Return the line of the first occurrence of a part of a text."""
    return text[: text.index(part)].count("\n") + 1


def test_a_sound_ruleset_is_read_whole() -> None:
    """Head, parameters and digest are those of the file."""
    ruleset = load_ruleset(SOUND.encode(), FILE, FACTS)
    assert (ruleset.name, ruleset.title, ruleset.version, ruleset.file) == ("demo", "Demo rules", "1.2", FILE)
    assert ruleset.parameters == {
        "length_minimum": Parameter(
            "length_minimum", 12, "characters", "Shortest password that is accepted.", "NIST SP 800-63B"
        )
    }
    assert [rule.id for rule in ruleset.rules] == ["telnet-enabled", "role-too-high"]
    assert re.fullmatch("[0-9a-f]{64}", ruleset.digest)


def test_a_rule_about_the_card_is_read_whole() -> None:
    """Every member of the file has its place in the rule; what is left out has its own value."""
    rule = load_ruleset(SOUND.encode(), FILE, FACTS).rules[0]
    assert (rule.for_each, rule.applies_when, rule.unknown_matters, rule.ruleset) == ("", None, False, "demo")
    assert rule.require == Leaf(
        Subject.AT,
        "/services/telnet/enabled",
        "equals",
        operand=False,
        tokens=("services", "telnet", "enabled"),
    )
    assert rule.mend.settings == (Change("/services/telnet/enabled", value=False),)
    assert rule.visit == Visit(cuts_access=True, after=("ssh-disabled",))
    assert (rule.vector, rule.sources) == ("AV:N/AC:L/Au:N/C:P/I:P/A:P", ("common practice, no source",))


def test_a_rule_about_members_is_read_whole() -> None:
    """The list, and conditions and mends inside its members."""
    rule = load_ruleset(SOUND.encode(), FILE, FACTS).rules[1]
    assert (rule.for_each, rule.for_each_tokens, rule.unknown_matters, rule.visit) == (
        "/accounts", ("accounts",), True, None,
    )  # fmt: skip
    assert rule.applies_when == Leaf(Subject.ITS, "/enabled", "equals", operand=True, tokens=("enabled",))
    assert rule.mend.settings == (Change("/role", "viewer"),)


def test_a_mend_is_frozen_through_and_through() -> None:
    """Lists of a mend are tuples: a rule can be kept in sets and caches."""
    old = '{ at = "/services/telnet/enabled", to = false }'
    new = '{ at = "/tls/versions", to = ["tls_1_2", "tls_1_3"] }'
    mend = load_ruleset(SOUND.replace(old, new).encode(), FILE, FACTS).rules[0].mend
    assert mend.settings == (Change("/tls/versions", ("tls_1_2", "tls_1_3")),)
    assert isinstance(hash(mend), int)


LENGTH_SET: Final = '{ at = "/access_policy/password/minimum_length", to = { parameter = "length_minimum" } }'


def test_a_mend_may_set_what_a_parameter_says() -> None:
    """The change keeps the parameter's name: its value is bound when the tailoring is known."""
    text = SOUND.replace('{ at = "/services/telnet/enabled", to = false }', LENGTH_SET)
    (change,) = load_ruleset(text.encode(), FILE, FACTS).rules[0].mend.settings
    assert change == Change("/access_policy/password/minimum_length", 12, "length_minimum")


def test_a_setting_of_one_value_takes_the_first_of_a_list() -> None:
    """Where a site allows several values, the first of them would pass."""
    text = SOUND.replace('to = "viewer"', 'to = { parameter = "roles" }')
    roles = Parameter("roles", ["viewer", "operator"], "", "m", "s")
    (change,) = load_ruleset(text.encode(), FILE, FACTS, {"roles": roles}).rules[1].mend.settings
    assert change == Change("/role", "viewer", "roles", is_first=True)


def test_parameters_of_other_rulesets_may_be_named() -> None:
    """A site's rules may use a threshold of the shipped rulesets."""
    text = SOUND.replace("equals = false }", 'equals = { parameter = "wanted" } }', 1)
    wanted = Parameter("wanted", value=False, unit="", meaning="m", source="s")
    require = load_ruleset(text.encode(), FILE, FACTS, {"wanted": wanted}).rules[0].require
    assert isinstance(require, Leaf)
    assert (require.operand, require.parameter) == (False, "wanted")


SLIPS: Final = [
    # what is replaced, by what, pointer, start of the problem, part of the remedy
    ('title = "Telnet is switched on"\n', "", "/rule/0/title", "this member is missing", 'Add "title"'),
    ("unknown_matters", "unknown_maters", "/rule/1/unknown_maters", "no such member", "unknown_matters?"),
    ('why = "Passwords travel in clear."', "why = 5", "/rule/0/why", "expected text", "quotation marks"),
    ('id = "telnet-enabled"', 'id = "Telnet_1"', "/rule/0/id", "expected text such as", ""),
    ('version = "1.2"', 'version = "one"', "/ruleset/version", "expected text", ""),
    ("sources = [", "sources = [5, ", "/rule/0/sources/0", "expected text", "quotation marks"),
    (
        'id = "role-too-high"', 'id = "telnet-enabled"',
        "/rule/1/id", "a second rule telnet-enabled", "its own id",
    ),
    ("AV:N/AC:L/Au:N", "AV:X/AC:L/Au:N", "/rule/0/severity/vector", "no value 'X' of AV", "AV:N/AC:L"),
    ("Au:N/C:P/I:P/A:P", "Au:N/C:P", "/rule/0/severity/vector", "the vector lacks I, A", "AV:N/AC:L"),
    (
        'for_each = "/accounts"', 'for_each = "/acounts"',
        "/rule/1/for_each", "the record has no acounts", "Did you mean accounts?",
    ),
    (
        'for_each = "/accounts"', 'for_each = "/card"',
        "/rule/1/for_each", "/card is not a list", "Name a list",
    ),
    (
        'its = "/enabled"', 'its = "/enabeld"',
        "/rule/1/applies_when/its", "the record has no enabeld", "Did you mean enabled?",
    ),
    (
        '{ its = "/role", equals = "viewer" }', '{ its = "/role", equals = "veiwer" }',
        "/rule/1/require/any_of/0/equals", "it is never 'veiwer'", "Did you mean viewer?",
    ),
    (
        'fact = "name_is_odd"', 'fact = "name_is_old"',
        "/rule/1/require/any_of/1/fact", "no fact name_is_old", "Did you mean name_is_odd?",
    ),
    (
        "equals = false }\nseverity", 'equals = { parameter = "lenght_minimum" } }\nseverity',
        "/rule/0/require/equals", "no parameter lenght_minimum", "Did you mean length_minimum?",
    ),
    (
        'set = [{ at = "/services/telnet/enabled"', 'set = [{ at = "/services/telnet/enable"',
        "/rule/0/mend/set/0/at", "the record has no enable at /services/telnet", "Did you mean enabled?",
    ),
    (
        'set = [{ at = "/services/telnet/enabled"', 'set = [{ its = "/enabled"',
        "/rule/0/mend/set/0/its", "there is no member here", "inside for_each",
    ),
    ("to = false", 'to = "no"', "/rule/0/mend/set/0/to", "a boolean is never 'no'", "Compare with a boolean"),
    (
        "to = false", "to = [false]",
        "/rule/0/mend/set/0/to", "this setting is a boolean", "Write true or false.",
    ),
    ('to = "viewer"', 'to = "reader"', "/rule/1/mend/set/0/to", "it is never 'reader'", "viewer"),
    (
        'to = "viewer"', 'to = { parameter = "lenght_minimum" }',
        "/rule/1/mend/set/0/to", "no parameter lenght_minimum", "Did you mean length_minimum?",
    ),
    (
        'to = "viewer"', 'to = { parameter = "length_minimum" }',
        "/rule/1/mend/set/0/to", "a text is never 12", "Compare with a text",
    ),
    (
        "Passwords travel in clear.", "Passwords of {lenght_minimum} travel in clear.",
        "/rule/0/why", "no parameter lenght_minimum", "Did you mean length_minimum?",
    ),
    (
        "Switch telnet off.", "Switch telnet off in {days}.",
        "/rule/0/mend/text", "no parameter days", "length_minimum",
    ),
    (
        "value = 12", "value = 2026-11-25",
        "/parameters/length_minimum/value", "expected a text, a number", "as text",
    ),
    (
        "value = 12", "value = nan",
        "/parameters/length_minimum/value", "expected a number of at most", "such as 900",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("old", "new", "pointer", "problem", "remedy"), SLIPS)
def test_each_slip_is_told_with_file_line_pointer_and_remedy(
    old: str, new: str, pointer: str, problem: str, remedy: str
) -> None:
    """One slip, one fault: at the line where the author finds it, saying what to do."""
    text = SOUND.replace(old, new, 1)
    assert text != SOUND
    (fault,) = faults_of(text)
    assert (fault.file, fault.pointer) == (FILE, pointer)
    assert fault.line == line_holding(SOUND, old if new else "[[rule]]")
    assert fault.problem.startswith(problem)
    assert fault.remedy
    assert remedy in fault.remedy


def test_a_slip_inside_a_list_over_many_lines_has_its_own_line() -> None:
    """The line is that of the item, not that of the rule or of the list."""
    text = SOUND.replace('{ fact = "name_is_odd", equals = false }', '{ fact = "name_is_odd", equals = 0 }')
    (fault,) = faults_of(text)
    assert (fault.pointer, fault.line) == (
        "/rule/1/require/any_of/1/equals", line_holding(text, 'fact = "name_is_odd"'),
    )  # fmt: skip


def test_every_fault_is_told_in_file_order() -> None:
    """An author mends a file once."""
    text = (
        SOUND.replace("AV:N/AC:L/Au:N", "AV:X/AC:L/Au:N")
        .replace('its = "/enabled"', 'its = "/enabeld"')
        .replace('at = "/services/telnet/enabled", equals', 'at = "/services/telnet/enable", equals')
        .replace('to = "viewer"', 'to = "reader"')
    )
    faults = faults_of(text)
    assert [fault.pointer for fault in faults] == [
        "/rule/0/require/at",
        "/rule/0/severity/vector",
        "/rule/1/applies_when/its",
        "/rule/1/mend/set/0/to",
    ]
    assert [fault.line for fault in faults] == sorted({fault.line for fault in faults})


def test_a_list_that_is_not_there_is_told_once() -> None:
    """A wrong for_each does not make faults of everything inside the member."""
    assert len(faults_of(SOUND.replace('for_each = "/accounts"', 'for_each = "/acounts"'))) == 1


def test_a_message_reads_as_place_problem_and_remedy() -> None:
    """The whole text of one fault, as a person sees it."""
    (fault,) = faults_of(SOUND.replace('fact = "name_is_odd"', 'fact = "name_is_old"'))
    assert str(fault) == (
        f"{FILE}:{fault.line}: /rule/1/require/any_of/1/fact: no fact name_is_old\n"
        "  Did you mean name_is_odd?"
    )


def test_faults_survive_a_worker_pool() -> None:
    """An error crosses to another process whole."""
    with pytest.raises(RulesetError) as caught:
        load_ruleset(b"a = ", FILE, FACTS)
    copy = pickle.loads(pickle.dumps(caught.value))  # noqa: S301 - our own bytes
    assert (type(copy), copy.faults, str(copy)) == (RulesetError, caught.value.faults, str(caught.value))


@pytest.mark.parametrize(
    ("text", "line", "problem"),
    [
        (b"[ruleset]\nname = \xff", 2, "the text is not UTF-8"),
        ("\xef\xbb\xbf[ruleset]".encode("latin-1"), 1, "not TOML"),
        (b"[ruleset]\nname = \n", 2, "not TOML"),
        (b"[ruleset]\nname = 'a'\nname = 'b'\n", 3, "not TOML"),
        (b"[ruleset]\nname = 'a", 2, "not TOML"),
        (b"a = " + b"[" * 5000, 1, "too deep or too long"),
        (b"a = " + b"9" * 5000, 1, "too deep or too long"),
    ],
)
def test_what_is_no_toml_is_told_with_its_line(text: bytes, line: int, problem: str) -> None:
    """Bytes that can't be read say so, and where."""
    (fault,) = faults_of(text)
    assert (fault.file, fault.line) == (FILE, line)
    assert fault.problem.startswith(problem)
    assert fault.remedy


def test_an_empty_file_is_told_what_it_lacks() -> None:
    """Both missing tables are named."""
    assert [fault.pointer for fault in faults_of("")] == ["/ruleset", "/rule"]


@given(st.binary(max_size=60))
def test_no_bytes_break_the_loading(text: bytes) -> None:
    """Any file is a ruleset or faults, never a traceback."""
    assert all(fault.problem and fault.remedy for fault in faults_of(text))


@given(st.integers(0, len(SOUND) - 1), st.integers(0, 12), st.text("[]{}=.\"'#/a1, \n", max_size=4))
def test_no_damage_to_a_sound_file_breaks_the_loading(at: int, gone: int, put: str) -> None:
    """A sound ruleset with a few characters changed loads, or its faults name lines inside it."""
    text = SOUND[:at] + put + SOUND[at + gone :]
    faults: tuple[Fault, ...] = ()
    try:
        load_ruleset(text.encode(), FILE, FACTS)
    except RulesetError as error:
        faults = error.faults
    lines = text.count("\n") + 1
    assert all(1 <= fault.line <= lines and fault.remedy for fault in faults)


def test_line_ends_of_another_system_change_no_line() -> None:
    """A file saved with carriage returns is told the same lines."""
    broken = SOUND.replace('its = "/enabled"', 'its = "/enabeld"')
    assert faults_of(broken.replace("\n", "\r\n")) == faults_of(broken)


def test_a_rule_may_stand_in_tables_of_its_own() -> None:
    """The long form of TOML gives the same rule as the inline one."""
    inline = (
        'mend = { text = "Switch telnet off.", set = [{ at = "/services/telnet/enabled", to = false }] }\n'
    )
    tables = '[rule.mend]\ntext = "Switch telnet off."\n' + indent(
        '[[rule.mend.set]]\nat = "/services/telnet/enabled"\nto = false\n', "    "
    )
    first = SOUND[: SOUND.rindex("[[rule]]")]
    long = first.replace(inline, "") + tables
    mends = [load_ruleset(text.encode(), FILE, FACTS).rules[0].mend for text in (first, long)]
    assert mends[0] == mends[1]
