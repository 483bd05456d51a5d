"""Numbers of which only the bounds are known: every comparison is asked of all numbers between."""

from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.between import Between, may_be_equal
from auditor.rules.operator import OPERATORS, holds_between

BOUNDS = st.tuples(st.integers(0, 9), st.integers(0, 5) | st.none())
NUMBERS = st.integers(-1, 15) | st.sampled_from([3.5, 8.5])
FAR = 40
"""Farther than any operand here: stands for a number without an upper bound."""


def between(bounds: tuple[int, int | None]) -> Between:
    """Return a number between two bounds, the second given by its distance."""
    least, more = bounds
    return Between(least, None if more is None else least + more)


def numbers(value: Between) -> range:
    """Return every number that it may be."""
    return range(int(value), (FAR if value.most is None else value.most) + 1)


@given(BOUNDS, st.sampled_from(sorted(OPERATORS)), st.data())
def test_a_comparison_holds_if_it_holds_of_every_number(
    bounds: tuple[int, int | None], name: str, data: st.DataObject
) -> None:
    """True of all is true, of none is false, of some is unknown; equality may give up sooner."""
    operator, value = OPERATORS[name], between(bounds)
    if operator.value_kind == "list" or operator.operand_kind == "true":
        return
    operand = data.draw(st.lists(NUMBERS, max_size=3) if operator.operand_kind == "list" else NUMBERS)
    answers = {operator.holds(number, operand) for number in numbers(value)}
    expected = answers.pop() if len(answers) == 1 else None
    found = holds_between(operator, value, operand)
    assert found is expected or (found is None and operator.operand_kind != "number")


@given(BOUNDS, BOUNDS)
def test_two_may_be_equal_if_they_have_a_number_in_common(
    one: tuple[int, int | None], other: tuple[int, int | None]
) -> None:
    """Whichever stands first, and for plain numbers too."""
    first, second = between(one), between(other)
    common = set(numbers(first)) & set(numbers(second))
    assert may_be_equal(first, second) is may_be_equal(second, first) is bool(common)
    assert may_be_equal(first, int(second)) is (int(second) in numbers(first))


def test_it_is_worded_by_its_bounds() -> None:
    """A report tells what is known, not a number that may be wrong."""
    assert (str(Between(8, 11)), str(Between(20, None))) == ("8 to 11", "20 or more")
