"""Kleene's strong logic, written out in full."""

from collections.abc import Callable, Iterable
from itertools import product
from typing import Final

import pytest

from auditor.rules.condition import Judgement, all_of, any_of, negation
from auditor.rules.truth import Truth, truth_of

F, U, T = Truth.FALSE, Truth.UNKNOWN, Truth.TRUE

# Source: S. C. Kleene, Introduction to Metamathematics (1952), section 64, the strong tables.
NEGATION: Final = {F: T, U: U, T: F}
CONJUNCTION: Final = {
    (F, F): F, (F, U): F, (F, T): F,
    (U, F): F, (U, U): U, (U, T): U,
    (T, F): F, (T, U): U, (T, T): T,
}  # fmt: skip
DISJUNCTION: Final = {
    (F, F): F, (F, U): U, (F, T): T,
    (U, F): U, (U, U): U, (U, T): T,
    (T, F): T, (T, U): T, (T, T): T,
}  # fmt: skip


def judged(truths: Iterable[Truth]) -> list[Judgement]:
    """Return judgements with these truths."""
    return [Judgement(truth, ()) for truth in truths]


@pytest.mark.parametrize(("truth", "opposite"), NEGATION.items())
def test_negation_follows_the_table(truth: Truth, opposite: Truth) -> None:
    """Not swaps true and false and leaves unknown."""
    assert truth.negation is opposite
    assert negation(Judgement(truth, ())).truth is opposite


@pytest.mark.parametrize(("pair", "truth"), CONJUNCTION.items())
def test_conjunction_follows_the_table(pair: tuple[Truth, Truth], truth: Truth) -> None:
    """One false makes all of them false, whatever the other; an unknown never makes a true."""
    assert all_of(judged(pair)).truth is min(pair) is truth


@pytest.mark.parametrize(("pair", "truth"), DISJUNCTION.items())
def test_disjunction_follows_the_table(pair: tuple[Truth, Truth], truth: Truth) -> None:
    """One true makes any of them true, whatever the other; an unknown never makes a false."""
    assert any_of(judged(pair)).truth is max(pair) is truth


@pytest.mark.parametrize("triple", list(product(Truth, repeat=3)))
def test_three_parts_are_joined_as_pairs_are(triple: tuple[Truth, Truth, Truth]) -> None:
    """Joining is associative: three at once, or two and then the third."""
    first, second, third = triple
    assert all_of(judged(triple)).truth is CONJUNCTION[CONJUNCTION[first, second], third]
    assert any_of(judged(triple)).truth is DISJUNCTION[DISJUNCTION[first, second], third]


@pytest.mark.parametrize(("join", "truth"), [(all_of, T), (any_of, F)])
def test_nothing_joined_is_the_neutral_truth(
    join: Callable[[list[Judgement]], Judgement], truth: Truth
) -> None:
    """All of nothing is true, any of nothing is false: they change no other truth when joined."""
    assert join([]).truth is truth
    assert all(join(judged([truth, other])).truth is other for other in Truth)


@pytest.mark.parametrize(("answer", "truth"), [(True, T), (False, F), (None, U)])
def test_an_undecided_question_is_unknown(*, answer: bool | None, truth: Truth) -> None:
    """None is neither true nor false."""
    assert truth_of(answer) is truth
