"""The comparisons: what they mean, and that their compiled form means the same."""

from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.rules.operator import OPERATORS, Operator

numbers = st.integers(-3, 3) | st.sampled_from([0.5, -1.5, 2.0, 1e300])
words = st.sampled_from(["", "a", "b", "tls_1_2", "é"])
scalars = st.booleans() | numbers | words
STRATEGIES: Final[dict[str, st.SearchStrategy[Any]]] = {
    "scalar": scalars,
    "number": numbers,
    "list": st.lists(scalars, max_size=4) | st.lists(scalars, max_size=4).map(tuple),
    "truth": st.booleans(),
    "any": scalars | st.lists(scalars, max_size=4),
    "true": st.just(value=True),
}
OPPOSITES: Final = (
    ("equals", "differs_from"), ("one_of", "none_of"), ("at_least", "less_than"), ("at_most", "more_than"),
)  # fmt: skip

# Common practice, no source: each comparison by its English words.
MEANINGS: Final[list[tuple[str, Any, Any, bool]]] = [
    ("equals", "a", "a", True),
    ("equals", "a", "A", False),
    ("equals", 900, 900.0, True),
    ("differs_from", False, True, True),
    ("differs_from", "a", "a", False),
    ("one_of", "b", ("a", "b"), True),
    ("one_of", "c", ("a", "b"), False),
    ("none_of", "c", ("a", "b"), True),
    ("none_of", "a", ("a", "b"), False),
    ("at_least", 12, 12, True),
    ("at_least", 11, 12, False),
    ("at_most", 12, 12, True),
    ("at_most", 13, 12, False),
    ("more_than", 12, 12, False),
    ("more_than", 12.5, 12, True),
    ("less_than", 12, 12, False),
    ("less_than", 11, 12, True),
    ("includes", ["a", "b"], "a", True),
    ("includes", [], "a", False),
    ("includes_all", ["a", "b", "c"], ("a", "c"), True),
    ("includes_all", ["a"], ("a", "c"), False),
    ("includes_none", ["a"], ("b", "c"), True),
    ("includes_none", ["a", "b"], ("b", "c"), False),
    ("includes_none", [], ("b",), True),
    ("includes_only", ["a", "a"], ("a", "b"), True),
    ("includes_only", ["a", "c"], ("a", "b"), False),
    ("includes_only", [], ("a",), True),
    ("has_items", ["a"], True, True),
    ("has_items", [], True, False),
    ("has_items", [], False, True),
    ("has_items", [{"name": "x"}], False, False),
    ("is_known", "a", True, True),
    ("is_known", False, True, True),
    ("is_known", [], True, True),
]


@pytest.mark.parametrize(("name", "value", "operand", "holds"), MEANINGS)
def test_comparisons_mean_what_their_names_say(
    *, name: str, value: object, operand: object, holds: bool
) -> None:
    """Each comparison holds and fails where a reader would expect it."""
    assert OPERATORS[name].holds(value, operand) is holds


def test_every_comparison_is_shown_to_hold_and_to_fail() -> None:
    """The table above leaves out no comparison and neither answer; what is known is never unknown."""
    assert {(name, holds) for name, _, _, holds in MEANINGS} == {
        (n, h) for n in OPERATORS for h in (True, False)
    } - {("is_known", False)}


@pytest.mark.parametrize("operator", OPERATORS.values(), ids=OPERATORS)
@given(data=st.data())
def test_the_compiled_form_means_the_same(operator: Operator, data: st.DataObject) -> None:
    """The Python expression gives the truth that the function gives, over random values and operands."""
    value = data.draw(STRATEGIES[operator.value_kind])
    operand = data.draw(STRATEGIES[operator.operand_kind])
    known = frozenset(operand) if operator.operand_kind == "list" else operand
    compiled = eval(operator.expression, {"v": value, "o": known})  # noqa: S307 - our own text
    assert compiled is operator.holds(value, operand)


@pytest.mark.parametrize(("one", "other"), OPPOSITES)
@given(data=st.data())
def test_opposites_never_agree(one: str, other: str, data: st.DataObject) -> None:
    """A comparison and its opposite never both hold, and never both fail."""
    value = data.draw(STRATEGIES[OPERATORS[one].value_kind])
    operand = data.draw(STRATEGIES[OPERATORS[one].operand_kind])
    assert OPERATORS[one].holds(value, operand) is not OPERATORS[other].holds(value, operand)


@pytest.mark.parametrize(("one", "other"), OPPOSITES)
def test_opposites_are_worded_alike(one: str, other: str) -> None:
    """What a failed comparison expected is what its opposite would have found."""
    assert OPERATORS[one].phrase == OPERATORS[other].opposite
    assert OPERATORS[one].opposite == OPERATORS[other].phrase


@pytest.mark.parametrize("operator", OPERATORS.values(), ids=OPERATORS)
def test_wordings_have_one_place_for_the_operand(operator: Operator) -> None:
    """Both phrases name the operand once, if there is anything to name, and differ."""
    places = 0 if operator.operand_kind == "true" else 1
    assert operator.phrase.count("{}") == operator.opposite.count("{}") == places
    assert operator.phrase != operator.opposite
