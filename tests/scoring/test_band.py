"""Bands: their limits, and their order."""

from decimal import Decimal
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.scoring.band import Band, band_of

# Source: CVSS v3.1 specification, section 5, qualitative severity rating scale.
LIMITS = [
    ("0.0", Band.NONE), ("0.1", Band.LOW), ("3.9", Band.LOW), ("4.0", Band.MEDIUM), ("6.9", Band.MEDIUM),
    ("7.0", Band.HIGH), ("8.9", Band.HIGH), ("9.0", Band.CRITICAL), ("10.0", Band.CRITICAL),
]  # fmt: skip

tenths = st.integers(0, 100).map(lambda tenth: Decimal(tenth) / 10)


@pytest.mark.parametrize(("score", "band"), LIMITS)
def test_limits_are_those_of_the_scale(score: str, band: Band) -> None:
    """Each end of each band falls into it."""
    assert band_of(Decimal(score)) is band


@given(tenths, tenths)
def test_a_higher_score_is_never_in_a_lower_band(one: Decimal, other: Decimal) -> None:
    """Bands keep the order of scores."""
    low, high = sorted((one, other))
    assert band_of(low) <= band_of(high)


def test_bands_compare_by_severity_and_not_by_spelling() -> None:
    """By spelling, critical would come before high, and medium after low."""
    assert all(low < high for low, high in pairwise(Band))
    assert all(high > low for low, high in pairwise(Band))
    assert sorted(Band, key=str) != sorted(Band) == list(Band)
    assert max(Band) is Band.CRITICAL


@given(st.sampled_from(Band), st.sampled_from(Band))
def test_comparisons_agree_with_each_other(one: Band, other: Band) -> None:
    """Exactly one of less, equal and greater holds; the looser ones follow."""
    assert [one < other, one == other, one > other].count(True) == 1
    assert (one <= other) is not (one > other)
    assert (one >= other) is not (one < other)


def test_a_word_compares_as_the_band_it_names() -> None:
    """A threshold read from a command line needs no conversion; another word is refused."""
    assert Band.HIGH >= "medium"
    assert Band.LOW < "high"
    with pytest.raises(ValueError, match="severe"):
        assert Band.HIGH >= "severe"


@pytest.mark.parametrize("score", ["-0.1", "10.1", "99"])
def test_what_is_no_severity_has_no_band(score: str) -> None:
    """Scores outside 0.0 to 10.0 are refused."""
    with pytest.raises(ValueError, match=r"a severity is 0\.0 to 10\.0"):
        band_of(Decimal(score))
