"""Conditions as an author writes them: what they become, and what is told of what they can't."""

from collections.abc import Sequence
from datetime import UTC, datetime
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.record.nearest import nearest
from auditor.record.schema import members_at, place_at
from auditor.rules.condition import AllOf, AnyOf, Condition, Leaf, Negation, Quantified, Subject
from auditor.rules.fault import Faults
from auditor.rules.operator import OPERATORS
from auditor.rules.parsing import LOST_LIST, Surroundings, list_tokens, parse_condition
from tests.rules.author import FACTS, PARAMETERS, read


@pytest.mark.parametrize(
    ("text", "condition"),
    [
        (
            '{ at = "/services/telnet/enabled", equals = false }',
            Leaf(
                Subject.AT, "/services/telnet/enabled", "equals", operand=False,
                tokens=("services", "telnet", "enabled"),
            ),
        ),
        (
            '{ at = "/tls/versions", includes_only = ["tls_1_2", "tls_1_3"] }',
            Leaf(
                Subject.AT, "/tls/versions", "includes_only", ("tls_1_2", "tls_1_3"),
                tokens=("tls", "versions"),
            ),
        ),
        ('{ fact = "days_left", at_least = 30 }', Leaf(Subject.FACT, "days_left", "at_least", 30)),
        (
            '{ at = "/access_policy/password/minimum_length", at_least = { parameter = "length_minimum" } }',
            Leaf(
                Subject.AT, "/access_policy/password/minimum_length", "at_least", 12, "length_minimum",
                ("access_policy", "password", "minimum_length"),
            ),
        ),
        (
            '{ parameter = "banner_required", equals = true }',
            Leaf(Subject.PARAMETER, "banner_required", "equals", operand=True),
        ),
        (
            '{ not = { fact = "days_left", less_than = 1 } }',
            Negation(Leaf(Subject.FACT, "days_left", "less_than", 1)),
        ),
        (
            (
                '{ all_of = [{ fact = "anything", equals = 1 },'
                ' { any_of = [{ fact = "anything", equals = 2 }] }] }'
            ),
            AllOf(
                (
                    Leaf(Subject.FACT, "anything", "equals", 1),
                    AnyOf((Leaf(Subject.FACT, "anything", "equals", 2),)),
                )
            ),
        ),
        (
            '{ every = "/accounts", meets = { its = "/enabled", equals = true } }',
            Quantified(
                every=True, pointer="/accounts", tokens=("accounts",),
                part=Leaf(Subject.ITS, "/enabled", "equals", operand=True, tokens=("enabled",)),
            ),
        ),
        (
            '{ some = "/accounts", meets = { fact = "name_is_odd", equals = true } }',
            Quantified(
                every=False, pointer="/accounts", tokens=("accounts",),
                part=Leaf(Subject.FACT, "name_is_odd", "equals", operand=True),
            ),
        ),
    ],
)  # fmt: skip
def test_a_sound_condition_is_read_as_written(text: str, condition: Condition) -> None:
    """Each form of the language becomes its data, without a fault."""
    assert read(text) == (condition, [])


def test_its_is_known_inside_for_each() -> None:
    """A rule about members may look into the member."""
    leaf = Leaf(Subject.ITS, "/role", "equals", "viewer", tokens=("role",))
    assert read('{ its = "/role", equals = "viewer" }', "/accounts") == (leaf, [])


FAULTS: Final = [
    # text, path below require, start of the problem, part of the remedy
    ("3", (), "expected a condition (a table)", "Write { at ="),
    ("{ all_of = [3] }", ("all_of", 0), "expected a condition (a table)", "Write { at ="),
    ("{ all_of = [] }", ("all_of",), "expected a list of conditions", "at least one"),
    ('{ any_of = { fact = "days_left" } }', ("any_of",), "expected a list of conditions", "at least one"),
    (
        '{ not = { fact = "days_left", equals = 1 }, at = "/x" }',
        ("at",), "at does not belong here", "Known: not.",
    ),
    ('{ every = "/accounts" }', ("meets",), "expected a condition (a table)", "Write { at ="),
    ('{ meets = { its = "/name", equals = "a" } }', (), "not a condition: meets", "with every or some"),
    ("{ }", (), "not a condition: empty", "one comparison"),
    ('{ at = "/card/id" }', (), "not a condition: at", "one comparison"),
    ("{ equals = 1 }", (), "not a condition: equals", "Name one of at, its, fact, parameter"),
    (
        '{ at = "/card/id", fact = "days_left", equals = 1 }',
        (), "not a condition: at, fact, equals", "Name one of",
    ),
    ('{ at = "/card/id", equal = "x" }', ("equal",), "no word equal in a condition", "Did you mean equals?"),
    (
        '{ at = "/card/id", equals = "x", because = "y" }',
        ("because",), "because does not belong here", "at, equals",
    ),
    ('{ at = "card/id", equals = "x" }', ("at",), "expected a JSON Pointer", "a slash first"),
    ("{ at = 5, equals = 5 }", ("at",), "expected a JSON Pointer", "a slash first"),
    (
        '{ at = "/services/telnett/enabled", equals = true }',
        ("at",), "the record has no telnett at /services", "Did you mean telnet?",
    ),
    (
        '{ at = "/servicess/telnet", equals = 1 }',
        ("at",), "the record has no servicess at /", "Did you mean services?",
    ),
    ('{ at = "/accounts/0/name", equals = "x" }', ("at",), "/accounts is a list", "every or some"),
    (
        '{ at = "/card/id/x", equals = "x" }',
        ("at",), "/card/id is a text: nothing stands below it", "Leave out /x.",
    ),
    (
        '{ its = "/name", equals = "x" }',
        ("its",), "there is no member here", "inside for_each, every or some",
    ),
    (
        '{ every = "/accounts", meets = { its = "/nam", equals = "x" } }',
        ("meets", "its"), "the record has no nam at /accounts/(member)", "Did you mean name?",
    ),
    (
        '{ some = "/card", meets = { its = "/name", equals = "x" } }',
        ("some",), "/card is not a list of objects", "Name a list",
    ),
    (
        '{ some = "/tls/versions", meets = { its = "/name", equals = "x" } }',
        ("some",), "/tls/versions is not a list of objects", "Name a list",
    ),
    (
        '{ every = "/account", meets = { its = "/name", equals = "x" } }',
        ("every",), "the record has no account at /", "Did you mean accounts?",
    ),
    ('{ fact = "day_left", equals = 1 }', ("fact",), "no fact day_left", "Did you mean days_left?"),
    ('{ fact = ["a"], equals = 1 }', ("fact",), "no fact ['a']", "Known: "),
    (
        '{ fact = "name_is_odd", equals = true }',
        ("fact",), "fact name_is_odd is about members of /accounts", 'for_each = "/accounts"',
    ),
    (
        '{ every = "/snmp/users", meets = { fact = "name_is_odd", equals = true } }',
        ("meets", "fact"), "fact name_is_odd is about members of /accounts", 'for_each = "/accounts"',
    ),
    (
        '{ parameter = "baner", equals = true }',
        ("parameter",), "no parameter baner", "Did you mean banner_required?",
    ),
    ('{ parameter = ["a"], equals = true }', ("parameter",), "no parameter ['a']", "Known: "),
    (
        '{ fact = "days_left", at_least = { parameter = "lenght_minimum" } }',
        ("at_least",), "no parameter lenght_minimum", "Did you mean length_minimum?",
    ),
    (
        '{ fact = "days_left", at_least = { parameter = ["a"] } }',
        ("at_least",), "no parameter ['a']", "Known: ",
    ),
    (
        '{ fact = "days_left", at_least = { value = 5 } }',
        ("at_least",), "expected a value or a parameter", 'Write { parameter = "name" }.',
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "path", "problem", "remedy"), FAULTS)
def test_each_slip_of_an_author_is_told_once_at_its_place(
    text: str, path: Sequence[str | int], problem: str, remedy: str
) -> None:
    """One fault, at the word or value that is wrong, with what to do."""
    _, faults = read(text)
    assert [fault.path for fault in faults] == [("require", *path)]
    assert faults[0].problem.startswith(problem)
    assert remedy in faults[0].remedy


def test_all_faults_of_a_condition_are_told_together() -> None:
    """Reading goes on after a fault: an author mends a file once."""
    _, faults = read(
        '{ all_of = [{ at = "/card/idd", equals = "x" }, { fact = "days_left", at_least = "5" },'
        ' { not = { parameter = "nothing_like_it", equals = 1 } },'
        ' { fact = "days_left", equal = 1, equals = 1 }] }'
    )
    assert [fault.path[1:] for fault in faults] == [
        ("all_of", 0, "at"), ("all_of", 1, "at_least"), ("all_of", 2, "not", "parameter"),
        ("all_of", 3, "equal"),
    ]  # fmt: skip


def test_a_list_that_is_not_there_is_told_once_whatever_stands_inside() -> None:
    """Nothing is said of the members of a list that could not be found; other slips still are."""
    _, faults = read(
        '{ every = "/acounts", meets = { all_of = [{ its = "/name", equals = "x" },'
        ' { fact = "name_is_odd", equals = true }, { at = "/card/idd", equals = "x" }] } }'
    )
    assert [fault.path[1:] for fault in faults] == [("every",), ("meets", "all_of", 2, "at")]


def test_the_list_of_a_rule_that_is_not_there_is_told_once() -> None:
    """A for_each that can't be found does not make a fault of every `its`."""
    _, faults = read('{ its = "/name", equals = "x" }', "/acounts")
    assert [fault.remedy for fault in faults] == ["Did you mean accounts?"]
    assert list_tokens("/acounts", (), Faults()) == LOST_LIST


json_like: st.SearchStrategy[Any] = st.recursive(
    st.one_of(
        st.booleans(), st.integers(), st.floats(), st.text(max_size=5),
        st.just(datetime(2026, 11, 25, 12, tzinfo=UTC)),
        st.sampled_from(["/card/id", "/accounts", "/name", "days_left", "name_is_odd", "good_versions"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(
            st.sampled_from(
                ["at", "its", "fact", "parameter", "all_of", "any_of", "not", "every", "some", "meets", "x"]
            )
            | st.sampled_from(sorted(OPERATORS)),
            inner,
            max_size=3,
        ),
    ),
    max_leaves=10,
)  # fmt: skip


@given(json_like)
def test_no_value_breaks_the_reading(raw: object) -> None:
    """Whatever TOML can hold becomes a condition, or faults with a problem and a remedy each."""
    faults = Faults()
    parse_condition(raw, ("require",), Surroundings(FACTS, PARAMETERS, faults))
    assert all(fault.path[0] == "require" and fault.problem and fault.remedy for fault in faults.found)


def _pointers(tokens: tuple[str, ...] = ()) -> list[str]:
    place = place_at(tokens)
    if place is None or (place.kind == "list"):
        return []
    here = ["/" + "/".join(tokens)] if tokens else []
    return here + [p for member in members_at(tokens) for p in _pointers((*tokens, member))]


@given(st.sampled_from(_pointers()), st.sampled_from(sorted(OPERATORS)))
def test_every_setting_of_the_record_can_be_named(pointer: str, operator: str) -> None:
    """A pointer of the schema is never told to be unknown, whatever it is compared with."""
    _, faults = read(f'{{ at = "{pointer}", {operator} = 1 }}')
    assert all(fault.path[-1] == operator for fault in faults)


@pytest.mark.parametrize(
    ("word", "known", "remedy"),
    [
        ("equal", ["equals", "at_least"], "Did you mean equals?"),
        ("zzz", ["b", "a"], "Known: a, b."),
        ("zzz", [], "None is known here: remove it."),
    ],
)
def test_a_remedy_names_the_nearest_word(word: str, known: list[str], remedy: str) -> None:
    """A near word is proposed; where none is near, the known ones are listed in order."""
    assert nearest(word, known) == remedy


def test_a_long_list_of_known_words_is_cut() -> None:
    """Of a hundred words, twelve are shown, and that there are more."""
    remedy = nearest("zzz", [f"word_{n:03}" for n in range(100)])
    assert remedy.startswith("Known, among 100: word_")
    assert remedy.count("word_") == 12
