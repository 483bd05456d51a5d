"""The scoring models of XCCDF 1.2."""

from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.scoring.xccdf import NOTHING_ASSESSED, Model, Score, Tally, score

# Source: worked arithmetic over NIST IR 7275r4 section 7.3.2 (FACTS.md 2.3). Fixed counts as
# pass; notapplicable, informational and notchecked are not counted; unknown and error have not
# passed. Group A weighs 2, group B 1; two rules stand outside any group.
WORKED: Final = (
    Tally(10, 1, 1, "A"),
    Tally(10, 0, 1, "A"),
    Tally(5, 0, 0, "A"),
    Tally(5, 1, 1, "B"),
    Tally(2, 0, 1, "B"),
    Tally(1, 1, 2, "B"),
    Tally(3, 0, 0, "B"),
    Tally(4, 0, 1),
    Tally(1, 0, 0),
)
WORKED_WEIGHTS: Final = {"A": 2.0, "B": 1.0}

weights = st.integers(0, 100).map(lambda tenth: tenth / 10)


@st.composite
def tallies(draw: st.DrawFn, min_counted: int = 0) -> Tally:
    """Draw a tally."""
    counted = draw(st.integers(min_counted, 8))
    return Tally(draw(weights), draw(st.integers(0, counted)), counted, draw(st.sampled_from(["", "a", "b"])))


many = st.lists(tallies(), max_size=12)
models = st.sampled_from(Model)


@pytest.mark.parametrize(
    ("model", "expected"),
    [
        (Model.DEFAULT, Score(168.75 / 7, 100.0, 168.75 / 7)),
        (Model.FLAT, Score(15.5, 32.0, 48.4375)),
        (Model.FLAT_UNWEIGHTED, Score(2.5, 6.0, 100 * (2.5 / 6))),
        (Model.ABSOLUTE, Score(0.0, 1.0, 0.0)),
    ],
)
def test_worked_example_comes_out_in_every_model(model: Model, expected: Score) -> None:
    """The example of FACTS.md 2.3 (NIST IR 7275r4 section 7.3.2) gives its points and maximum."""
    assert score(WORKED, model, WORKED_WEIGHTS) == expected


@pytest.mark.parametrize(("group", "expected"), [("A", 50.0), ("B", 68.75)])
def test_worked_groups_come_out_alone(group: str, expected: float) -> None:
    """The groups of FACTS.md 2.3, each taken as a benchmark, score as worked there."""
    members = [tally._replace(group="") for tally in WORKED if tally.group == group]
    assert score(members, Model.DEFAULT).percent == expected


def test_a_group_weighs_one_unless_told_otherwise() -> None:
    """Without weights each family counts the same, however many rules it has."""
    one_of_each = [Tally(1, 0, 1, "small"), *[Tally(9, 1, 1, "large")] * 9]
    assert score(one_of_each, Model.DEFAULT).percent == 50.0


@given(many, models, st.randoms(use_true_random=False))
def test_order_of_tallies_never_matters(given_tallies: list[Tally], model: Model, random: object) -> None:
    """Rules in any order give the same score to the last digit."""
    shuffled = list(given_tallies)
    getattr(random, "shuffle")(shuffled)  # noqa: B009 - hypothesis gives a Random without a public type
    assert score(shuffled, model) == score(given_tallies, model)


@given(many, models)
def test_percent_stays_within_0_and_100(given_tallies: list[Tally], model: Model) -> None:
    """Points never pass the maximum."""
    scored = score(given_tallies, model)
    assert 0 <= scored.points <= scored.maximum
    assert scored.percent is None or 0 <= scored.percent <= 100


@given(st.lists(tallies(1), min_size=1, max_size=12), models)
def test_all_passed_is_exactly_the_maximum(given_tallies: list[Tally], model: Model) -> None:
    """A card without a fault scores 100 and not 99.99…, whatever its weights."""
    perfect = [tally._replace(passed=tally.counted, weight=tally.weight + 0.1) for tally in given_tallies]
    scored = score(perfect, model)
    assert (scored.points, scored.percent) == (scored.maximum, 100.0)


@given(many, models, st.data())
def test_one_more_pass_never_lowers_a_score(
    given_tallies: list[Tally], model: Model, data: st.DataObject
) -> None:
    """Mending something is never punished."""
    open_tallies = [i for i, tally in enumerate(given_tallies) if tally.passed < tally.counted]
    if not open_tallies:
        return
    index = data.draw(st.sampled_from(open_tallies))
    mended = list(given_tallies)
    mended[index] = mended[index]._replace(passed=mended[index].passed + 1)
    assert score(mended, model).points >= score(given_tallies, model).points


@given(many, models)
def test_what_is_not_counted_leaves_no_trace(given_tallies: list[Tally], model: Model) -> None:
    """Rules that do not apply change nothing (NIST IR 7275r4 section 7.3.2, excluded results)."""
    assert score([*given_tallies, Tally(9.9, 0, 0, "c")], model) == score(given_tallies, model)


@pytest.mark.parametrize("model", Model)
@pytest.mark.parametrize("empty", [[], [Tally(5, 0, 0), Tally(3, 0, 0, "a")]])
def test_nothing_counted_is_nothing_assessed(model: Model, empty: list[Tally]) -> None:
    """Neither 0 nor 100: the standard's absolute model would say 1 of 1 (FACTS.md 2.2)."""
    assert score(empty, model) == NOTHING_ASSESSED
    assert NOTHING_ASSESSED.percent is None


@pytest.mark.parametrize(
    ("model", "expected"),
    [
        (Model.DEFAULT, Score(0.0, 100.0, 0.0)),
        (Model.FLAT, Score(0.0, 0.0, None)),
        (Model.FLAT_UNWEIGHTED, Score(0.0, 0.0, None)),
        (Model.ABSOLUTE, Score(1.0, 1.0, 100.0)),
    ],
)
def test_rules_without_weight_divide_nothing_by_nothing_safely(model: Model, expected: Score) -> None:
    """Where all that counts weighs 0, the division is guarded (FACTS.md 2.2)."""
    assert score([Tally(0, 1, 1), Tally(0, 0, 1)], model) == expected


@given(many)
def test_absolute_is_all_or_nothing_of_the_flat_score(given_tallies: list[Tally]) -> None:
    """It gives 1 exactly where the flat score is the flat maximum (NIST IR 7275r4 section 7.3.2)."""
    flat, absolute = score(given_tallies, Model.FLAT), score(given_tallies, Model.ABSOLUTE)
    assert absolute.percent is None or (absolute.points == 1.0) == (flat.points == flat.maximum)


@pytest.mark.parametrize(
    ("model", "urn"),
    [
        (Model.DEFAULT, "urn:xccdf:scoring:default"),
        (Model.FLAT, "urn:xccdf:scoring:flat"),
        (Model.FLAT_UNWEIGHTED, "urn:xccdf:scoring:flat-unweighted"),
        (Model.ABSOLUTE, "urn:xccdf:scoring:absolute"),
    ],
)
def test_models_bear_the_names_of_the_standard(model: Model, urn: str) -> None:
    """The names are those of NIST IR 7275r4 section 7.3.2."""
    assert model.urn == urn
