"""CCSS scores against published examples, a reference library and the laws they must keep."""

import re
from decimal import Decimal
from itertools import product
from typing import Final

import pytest
from cvss import CVSS2  # type: ignore[import-untyped]
from hypothesis import given
from hypothesis import strategies as st

from auditor.scoring.ccss import (
    BASE_WEIGHTS,
    ENVIRONMENTAL_WEIGHTS,
    OVERRIDE_WEIGHTS,
    TEMPORAL_WEIGHTS,
    VectorError,
    base_score,
    environmental_score,
    explain,
    parse_full_vector,
    parse_vector,
    temporal_score,
)

ALL_BASE_VECTORS: Final = tuple(
    "/".join(f"{name}:{value}" for name, value in zip(BASE_WEIGHTS, values, strict=True))
    for values in product(*BASE_WEIGHTS.values())
)

# Source: NIST IR 7502 section 4 (worked examples), with the intermediate sums of FACTS.md 1.3.
BASE_EXAMPLES: Final = (
    ("AV:N/AC:L/Au:N/C:N/I:P/A:N", "2.8628", "9.9968", "5.0"),
    ("AV:L/AC:L/Au:N/C:N/I:N/A:P", "2.8628", "3.9487", "2.1"),
    ("AV:L/AC:L/Au:N/C:P/I:P/A:P", "6.4430", "3.9487", "4.6"),
    ("AV:L/AC:H/Au:N/C:P/I:N/A:N", "2.8628", "1.9466", "1.2"),
    ("AV:L/AC:L/Au:N/C:N/I:N/A:C", "6.8706", "3.9487", "4.9"),
    ("AV:N/AC:H/Au:N/C:P/I:N/A:N", "2.8628", "4.9280", "2.6"),
    ("AV:N/AC:L/Au:N/C:N/I:N/A:P", "2.8628", "9.9968", "5.0"),
    ("AV:N/AC:H/Au:N/C:P/I:P/A:P", "6.4430", "4.9280", "5.1"),
    ("AV:N/AC:L/Au:N/C:P/I:N/A:P", "4.9382", "9.9968", "6.4"),
    ("AV:N/AC:L/Au:N/C:P/I:P/A:P", "6.4430", "9.9968", "7.5"),
)

# Source: own arithmetic over the equations of NIST IR 7502, worked apart from this code, for
# corners that the published examples leave out: base, temporal, environmental.
EXTRA_VECTORS: Final = (
    ("AV:N/AC:L/Au:N/C:C/I:C/A:C", "10.0", "10.0", "10.0"),
    ("AV:N/AC:L/Au:N/C:N/I:N/A:N", "0.0", "0.0", "0.0"),
    ("AV:N/AC:L/Au:N/C:C/I:C/A:C/GEL:H/GRL:N", "10.0", "10.0", "10.0"),
    ("AV:N/AC:L/Au:N/C:P/I:P/A:P/GEL:N/GRL:H", "7.5", "3.9", "5.6"),
    ("AV:A/AC:M/Au:S/C:P/I:P/A:N", "3.8", "3.8", "3.8"),
    ("AV:A/AC:L/Au:N/C:P/I:N/A:N/CR:H", "3.3", "3.3", "4.3"),
    ("AV:A/AC:L/Au:N/C:P/I:N/A:N/CR:H/IR:M/AR:ND/CDP:ND/PTV:M", "3.3", "3.3", "4.3"),
    ("AV:N/AC:L/Au:N/C:N/I:P/A:C/GEL:L/LVP:L/LRL:M/CDP:MH/AR:H", "8.5", "7.5", "7.1"),
    (
        "AV:L/AC:H/Au:M/C:P/I:N/A:N/GEL:N/LVP:N/PTV:L/LRL:H/CDP:N/CR:L/IR:L/AR:L",
        "0.8", "0.6", "0.0",
    ),
    ("AV:N/AC:L/Au:N/C:P/I:P/A:P/EC:N/EI:N/EA:N", "7.5", "7.5", "2.9"),
    ("AV:N/AC:L/Au:N/C:N/I:N/A:N/EC:C", "0.0", "0.0", "0.0"),
)  # fmt: skip

TEMPORAL_EXAMPLE: Final = "AV:L/AC:L/Au:N/C:P/I:P/A:P/GEL:L/GRL:M"
ENVIRONMENTAL_EXAMPLE: Final = TEMPORAL_EXAMPLE + "/LVP:L/PTV:L/LRL:L/EC:C/EI:C/EA:C/CDP:L/CR:M/IR:M/AR:L"

base_vectors = st.sampled_from(ALL_BASE_VECTORS)


def choices(*tables: dict[str, dict[str, str]]) -> st.SearchStrategy[dict[str, str]]:
    """Return some of the metrics of these tables, each with one of its values."""
    values = {name: st.sampled_from(sorted(weights)) for table in tables for name, weights in table.items()}
    return st.fixed_dictionaries({}, optional=values)


def tables(*named: object) -> list[dict[str, dict[str, str]]]:
    """Return weight tables as plain dicts."""
    return [
        {name: dict(weights) for name, weights in table.items()} for table in named if isinstance(table, dict)
    ]


environments = choices(*tables(ENVIRONMENTAL_WEIGHTS))
all_added = choices(*tables(TEMPORAL_WEIGHTS, ENVIRONMENTAL_WEIGHTS, OVERRIDE_WEIGHTS))


def rounded(value: Decimal) -> str:
    """Return a number as the fact sheet prints it, with four decimals."""
    return f"{value:.4f}"


def with_metrics(vector: str, metrics: dict[str, str]) -> str:
    """Return a vector with metrics added to it."""
    return "/".join([vector, *(f"{name}:{value}" for name, value in metrics.items())])


@pytest.mark.parametrize(("vector", "impact", "exploitability", "score"), BASE_EXAMPLES)
def test_published_base_examples_are_met(vector: str, impact: str, exploitability: str, score: str) -> None:
    """Base scores and the sums before them are those of NIST IR 7502 section 4."""
    scored = base_score(vector)
    assert (scored.score, scored.vector) == (Decimal(score), vector)
    assert (rounded(scored.impact), rounded(scored.exploitability)) == (impact, exploitability)


def test_published_temporal_example_is_met() -> None:
    """The temporal score is that of NIST IR 7502 section 4, with the sums of FACTS.md 1.3."""
    scored = temporal_score(TEMPORAL_EXAMPLE)
    assert scored.score == Decimal("3.7")
    assert (rounded(scored.impact), rounded(scored.exploitability)) == ("6.4430", "1.8954")


def test_published_environmental_example_is_met() -> None:
    """The environmental score is that of NIST IR 7502 section 4; its impact meets the cap of 10."""
    scored = environmental_score(ENVIRONMENTAL_EXAMPLE)
    assert scored.score == Decimal("6.1")
    assert (scored.impact, rounded(scored.exploitability)) == (Decimal(10), "1.6174")


@pytest.mark.parametrize(("vector", "base", "temporal", "environmental"), EXTRA_VECTORS)
def test_corner_vectors_are_met(vector: str, base: str, temporal: str, environmental: str) -> None:
    """Caps, clamps, identity and the chosen reading of f come out as worked by hand."""
    scores = (base_score(vector), temporal_score(vector), environmental_score(vector))
    assert [str(scored.score) for scored in scores] == [base, temporal, environmental]


def test_every_base_vector_scores_as_the_reference_library_says() -> None:
    """All 729 base vectors agree with the CVSS2 class of the cvss package (the same equations)."""
    ours = {vector: float(base_score(vector).score) for vector in ALL_BASE_VECTORS}
    theirs = {vector: float(CVSS2(vector).scores()[0]) for vector in ALL_BASE_VECTORS}
    assert len(ours) == 729
    assert ours == theirs


def test_base_scores_have_the_known_spread() -> None:
    """There are 76 distinct base scores, the lowest above zero 0.8 (FACTS.md 1.2, computed)."""
    scores = {base_score(vector).score for vector in ALL_BASE_VECTORS}
    assert (len(scores), min(scores - {Decimal(0)}), max(scores)) == (76, Decimal("0.8"), Decimal(10))


@pytest.mark.parametrize("vector", ALL_BASE_VECTORS[:: len(ALL_BASE_VECTORS) // 27])
def test_metrics_that_are_not_defined_change_nothing(vector: str) -> None:
    """ND everywhere gives the base score, temporal and environmental (identity of the weights)."""
    undefined = dict.fromkeys(("GEL", "GRL", *ENVIRONMENTAL_WEIGHTS, *OVERRIDE_WEIGHTS), "ND")
    whole = with_metrics(vector, undefined)
    assert temporal_score(whole).score == environmental_score(whole).score == base_score(vector).score


@given(base_vectors, all_added)
def test_scores_stay_within_0_and_10(vector: str, metrics: dict[str, str]) -> None:
    """No vector leaves 0.0 to 10.0, and each score has exactly one decimal."""
    whole = with_metrics(vector, metrics)
    for scored in (base_score(whole), temporal_score(whole), environmental_score(whole)):
        assert 0 <= scored.score <= 10
        assert scored.score.as_tuple().exponent == -1
        assert not scored.score.is_signed()


@given(base_vectors, environments, st.sampled_from(sorted(ENVIRONMENTAL_WEIGHTS)), st.data())
def test_raising_a_metric_never_lowers_a_score(
    vector: str, environment: dict[str, str], name: str, data: st.DataObject
) -> None:
    """A greater weight of any one environmental metric gives the same score or a higher one."""
    weights = ENVIRONMENTAL_WEIGHTS[name]
    low, high = sorted(
        data.draw(st.tuples(*[st.sampled_from(sorted(weights))] * 2)), key=lambda v: Decimal(weights[v])
    )
    lower = environmental_score(vector, {**environment, name: low}).score
    assert lower <= environmental_score(vector, {**environment, name: high}).score


@given(base_vectors, all_added)
def test_metrics_of_the_card_and_of_the_vector_are_the_same_to_a_score(
    vector: str, metrics: dict[str, str]
) -> None:
    """It does not matter whether a metric stands in the vector or comes with the card."""
    apart = environmental_score(vector, metrics)
    together = environmental_score(with_metrics(vector, metrics))
    assert apart == together


@given(base_vectors, all_added, st.randoms(use_true_random=False))
def test_order_of_metrics_never_matters(vector: str, metrics: dict[str, str], random: object) -> None:
    """Metrics in any order give the same score, and the vector comes back in one order."""
    parts = with_metrics(vector, metrics).split("/")
    shuffled = list(parts)
    getattr(random, "shuffle")(shuffled)  # noqa: B009 - hypothesis gives a Random without a public type
    assert environmental_score("/".join(shuffled)) == environmental_score("/".join(parts))


def test_an_override_that_is_not_defined_keeps_the_base_impact() -> None:
    """EC:ND leaves C as it is, where EC:N takes it away (NIST IR 7502, structure from memory)."""
    vector = "AV:N/AC:L/Au:N/C:C/I:P/A:N"
    assert environmental_score(vector, {"EC": "ND"}).impact == environmental_score(vector).impact
    assert environmental_score(vector, {"EC": "N"}).impact < environmental_score(vector).impact


def test_remediation_in_general_does_not_count_where_the_card_is() -> None:
    """GRL lowers the temporal score only: the environmental equation asks for LRL."""
    vector = "AV:N/AC:L/Au:N/C:P/I:P/A:P"
    assert environmental_score(vector + "/GRL:H").score == environmental_score(vector).score
    assert temporal_score(vector + "/GRL:H").score < temporal_score(vector).score


def test_a_score_names_only_the_metrics_that_it_counts() -> None:
    """A base score shows six metrics, a temporal score two more, an environmental score all."""
    assert base_score(ENVIRONMENTAL_EXAMPLE).vector == "AV:L/AC:L/Au:N/C:P/I:P/A:P"
    assert temporal_score(ENVIRONMENTAL_EXAMPLE).vector == TEMPORAL_EXAMPLE
    assert parse_full_vector(environmental_score(ENVIRONMENTAL_EXAMPLE).vector) == parse_full_vector(
        ENVIRONMENTAL_EXAMPLE
    )


@given(base_vectors, all_added)
def test_every_sum_of_the_working_can_be_done_again(vector: str, metrics: dict[str, str]) -> None:
    """Each formula, calculated as it is printed, gives its value to within its printed decimals."""
    sums = [
        s
        for s in environmental_score(vector, metrics).steps
        if re.fullmatch(r"[0-9.*() +,\-min]+", s.formula)
    ]
    assert len(sums) == 5
    for step in sums:
        # The pattern above leaves only numbers, arithmetic and min().
        assert eval(step.formula) == pytest.approx(float(step.value), abs=2e-3)  # noqa: S307


def test_working_is_complete_and_ends_in_the_score() -> None:
    """The working of a base score names each step once, in order."""
    steps = explain("AV:N/AC:L/Au:N/C:P/I:P/A:P")
    assert steps[-1].value == Decimal("7.5")
    assert [(step.name, step.formula) for step in steps] == [
        ("Impact (C, I, A)", "10.41 * (1 - (1 - 0.275) * (1 - 0.275) * (1 - 0.275))"),
        ("Exploitability (AV, AC, Au)", "20 * 1 * 0.71 * 0.704"),
        ("f(Impact)", "1.176, since the impact 6.443 is not 0"),
        ("Before rounding", "(0.6 * 6.443 + 0.4 * 9.9968 - 1.5) * 1.176"),
        ("Base score", "7.4847, kept within 0 to 10, to one decimal (half up)"),
    ]


def test_working_follows_the_card_where_there_is_one() -> None:
    """With metrics of the card, the working is that of the environmental score."""
    steps = explain("AV:N/AC:L/Au:N/C:N/I:N/A:P", {"AR": "H", "CDP": "L"})
    assert steps == environmental_score("AV:N/AC:L/Au:N/C:N/I:N/A:P", {"CDP": "L", "AR": "H"}).steps
    assert [step.name for step in steps][-1] == "Environmental score"


def test_no_impact_is_told_in_the_working() -> None:
    """Where nothing is lost, f is 0 and the working says so."""
    steps = explain("AV:N/AC:L/Au:N/C:N/I:N/A:N")
    assert ("f(Impact)", "0, since the impact is 0", Decimal(0)) in steps


@pytest.mark.parametrize(
    ("vector", "problem"),
    [
        ("", "no metric ''"),
        ("AV:N/AC:L", "the vector lacks Au, C, I, A"),
        ("AV:X/AC:L/Au:N/C:P/I:P/A:P", "no value 'X' of AV; known are L, A, N"),
        ("AV:N/AC:L/Au:N/C:P/I:P/A:P/AV:N", "metric AV stands twice"),
        ("AV:N/AC:L/Au:N/C:P/I:P/A:P/PR:N", "no metric 'PR' here"),
        ("AV:N/AC:L/Au:N/C:P/I:P/A:P/GEL:L", "no metric 'GEL' here; known are AV, AC, Au, C, I, A"),
        ("AV:N/AC:L/Au:N/C:P/I:P/A:P/", "no metric ''"),
        ("AV=N/AC:L/Au:N/C:P/I:P/A:P", "no metric 'AV=N'"),
    ],
)
def test_what_is_no_base_vector_is_refused_and_told(vector: str, problem: str) -> None:
    """A fault of a rule's vector says which metric, and what is known."""
    with pytest.raises(VectorError, match=f"^{re.escape(problem)}"):
        parse_vector(vector)


@given(st.text(max_size=60))
def test_no_text_breaks_the_reading_of_vectors(text: str) -> None:
    """Any text is a vector of six metrics or a VectorError, never another fault."""
    try:
        metrics = parse_vector(text)
    except VectorError:
        return
    assert tuple(sorted(metrics)) == tuple(sorted(BASE_WEIGHTS))


@given(environments)
def test_every_environmental_metric_is_a_sites_to_set(metrics: dict[str, str]) -> None:
    """What may be set can be scored."""
    assert environmental_score("AV:N/AC:L/Au:N/C:P/I:P/A:P", metrics).score > 0
