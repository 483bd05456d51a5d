"""Comparisons that fit what they compare, and what is told of those that don't."""

from collections.abc import Sequence
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.fact import Fact
from auditor.rules.condition import Leaf
from auditor.rules.fitting import place_of_fact
from auditor.rules.operator import OPERATORS
from tests.rules.author import anything, days_left, name_is_odd, odd_names, pair_of_words, read

FAULTS: Final = [
    # text, path below require, start of the problem, part of the remedy
    ('{ fact = "days_left", at_least = "5" }', ("at_least",), "at_least takes a number", "without quotes"),
    ('{ fact = "days_left", at_least = true }', ("at_least",), "at_least takes a number", "without quotes"),
    ('{ fact = "days_left", one_of = 5 }', ("one_of",), "one_of takes a list", "Write a list"),
    ('{ fact = "anything", equals = [1] }', ("equals",), "equals takes a scalar", "Write one value"),
    ('{ fact = "odd_names", has_items = 1 }', ("has_items",), "has_items takes a truth", "true or false"),
    ('{ fact = "odd_names", is_known = 1 }', ("is_known",), "is_known takes a true", "Write true"),
    ('{ fact = "odd_names", is_known = false }', ("is_known",), "is_known takes a true", "Write true"),
    (
        '{ fact = "days_left", at_most = { parameter = "good_versions" } }',
        ("at_most",), "at_most takes a number", "without quotes",
    ),
    ('{ fact = "days_left", at_least = nan }', ("at_least",), "expected a number of", "such as 900"),
    ('{ fact = "days_left", at_most = inf }', ("at_most",), "expected a number of", "such as 900"),
    (
        '{ fact = "days_left", at_most = 9007199254740993 }',
        ("at_most",), "expected a number of at most 15 digits", "such as 900",
    ),
    ('{ fact = "anything", equals = 2026-11-25 }', ("equals",), "equals takes a scalar", "Write one value"),
    (
        '{ fact = "anything", one_of = [1, 2026-11-25] }',
        ("one_of", 1), "expected a text, a number", "as text",
    ),
    ('{ fact = "anything", one_of = [[1]] }', ("one_of", 0), "expected a text, a number", "as text"),
    (
        '{ fact = "days_left", includes = 1 }',
        ("includes",), "includes does not fit a number", "A number takes equals",
    ),
    (
        '{ fact = "odd_names", equals = "x" }',
        ("equals",), "equals does not fit a list", "A list takes includes",
    ),
    ('{ fact = "odd_names", includes = 5 }', ("includes",), "a text is never 5", "Compare with a text."),
    ('{ fact = "days_left", equals = "x" }', ("equals",), "a number is never 'x'", "Compare with a number."),
    (
        '{ at = "/card/id", at_least = 5 }',
        ("at_least",), "at_least does not fit a text", "A text takes equals",
    ),
    (
        '{ at = "/services/telnet/enabled", equals = 1 }',
        ("equals",), "a boolean is never 1", "Compare with a boolean.",
    ),
    (
        '{ at = "/services/telnet/port", one_of = [23, true] }',
        ("one_of", 1), "a number is never true", "Compare with a number.",
    ),
    (
        '{ every = "/accounts", meets = { its = "/role", equals = "operater" } }',
        ("meets", "equals"), "it is never 'operater'", "Did you mean operator?",
    ),
    (
        '{ at = "/tls/versions", includes_none = ["tls_1_0", "tls_one"] }',
        ("includes_none", 1), "it is never 'tls_one'", "Did you mean tls_1_",
    ),
    (
        '{ every = "/accounts", meets = { its = "/password", equals = "x" } }',
        ("meets", "equals"), "equals does not fit a secret", "use a fact",
    ),
    (
        '{ at = "/accounts", includes_only = [] }',
        ("includes_only",), "the members of this list", "every or some",
    ),
    ('{ at = "/accounts", includes = "x" }', ("includes",), "the members of this list", "every or some"),
    ('{ at = "/card", equals = "x" }', ("equals",), "equals does not fit a object", "a setting inside it"),
    (
        '{ parameter = "banner_required", at_least = 5 }',
        ("at_least",), "at_least does not fit a boolean", "A boolean takes equals",
    ),
    (
        '{ parameter = "good_versions", includes = 5 }',
        ("includes",), "a text is never 5", "Compare with a text.",
    ),
]  # fmt: skip


@pytest.mark.parametrize(("text", "path", "problem", "remedy"), FAULTS)
def test_a_comparison_that_could_never_serve_is_told_at_its_operand(
    text: str, path: Sequence[str | int], problem: str, remedy: str
) -> None:
    """One fault, at the operand or its item, with what would fit."""
    _, faults = read(text)
    assert [fault.path for fault in faults] == [("require", *path)]
    assert faults[0].problem.startswith(problem)
    assert remedy in faults[0].remedy


@pytest.mark.parametrize(
    ("each", "kind", "item"),
    [
        (days_left, "number", ""),
        (name_is_odd, "boolean", ""),
        (odd_names, "list", "text"),
        (pair_of_words, "list", "text"),
    ],
)
def test_the_kind_of_a_fact_is_that_of_its_annotation(each: Fact, kind: str, item: str) -> None:
    """A fact needs no second declaration of what it gives."""
    place = place_of_fact(each)
    assert place is not None
    assert (place.kind, place.item, place.values) == (kind, item, ())


def test_a_fact_that_may_give_anything_takes_any_comparison() -> None:
    """Where the annotation does not tell, nothing is refused."""
    assert place_of_fact(anything) is None
    for operand in ('includes = "x"', "at_least = 5", 'equals = "x"'):
        assert read(f'{{ fact = "anything", {operand} }}')[1] == []


@given(st.sampled_from(sorted(OPERATORS)), st.data())
def test_a_comparison_that_is_accepted_can_always_be_made(name: str, data: st.DataObject) -> None:
    """What passes the check of fit never breaks on a value of the setting's kind."""
    samples: dict[str, tuple[str, list[object]]] = {
        "/card/id": ("text", ["", "a"]),
        "/services/telnet/port": ("number", [0, 23, 1.5]),
        "/services/telnet/enabled": ("boolean", [True, False]),
        "/tls/versions": ("list", [[], ["tls_1_2"]]),
        "/accounts": ("list", [[], [{"name": "a"}]]),
    }
    pointer = data.draw(st.sampled_from(sorted(samples)))
    operand = data.draw(st.sampled_from(['"a"', "5", "true", "[]", '["tls_1_2"]', "[23]", "nan", "1.5"]))
    condition, faults = read(f'{{ at = "{pointer}", {name} = {operand} }}')
    if not faults:
        assert isinstance(condition, Leaf)
        held = [OPERATORS[name].holds(value, condition.operand) for value in samples[pointer][1]]
        assert set(held) <= {True, False}
