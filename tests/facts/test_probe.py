"""Facts on environment sensors: order, gaps, and what a sensor measures."""

from collections.abc import Mapping
from datetime import UTC, datetime
from itertools import product

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import probe
from auditor.facts.fact import Context, Fact, Settings

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))
TEMPERATURE = (
    "temperature_low_critical_c",
    "temperature_low_warning_c",
    "temperature_high_warning_c",
    "temperature_high_critical_c",
)
HUMIDITY = (
    "humidity_low_critical_percent",
    "humidity_low_warning_percent",
    "humidity_high_warning_percent",
    "humidity_high_critical_percent",
)
ORDERED: Mapping[tuple[str, ...], Fact] = {
    TEMPERATURE: probe.temperature_thresholds_ordered,
    HUMIDITY: probe.humidity_thresholds_ordered,
}


def sensor(names: tuple[str, ...], values: tuple[int | None, ...]) -> Settings:
    """Return a sensor with these thresholds; None leaves one out."""
    return {name: value for name, value in zip(names, values, strict=True) if value is not None}


@pytest.mark.parametrize("names", [TEMPERATURE, HUMIDITY], ids=["temperature", "humidity"])
@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ((15, 18, 27, 32), True),
        ((18, 18, 27, 27), True),  # two of one side may be equal
        ((19, 18, 27, 32), False),  # low warning below low critical
        ((15, 18, 33, 32), False),  # high warning above high critical
        ((15, 27, 27, 32), False),  # nothing is left between the warnings
        ((15, 28, 27, 32), False),  # crossed
        ((15, 18, 27, None), None),
        ((30, None, None, 20), False),  # one known pair shows it
        ((20, None, None, 20), False),
        ((None, None, None, None), None),
    ],
)
def test_thresholds_are_ordered_low_to_high(
    names: tuple[str, ...], values: tuple[int | None, ...], *, expected: bool | None
) -> None:
    """Low critical ≤ low warning < high warning ≤ high critical; an absent one leaves it open."""
    assert ORDERED[names](sensor(names, values), {}, CONTEXT) is expected


@pytest.mark.parametrize(
    ("low", "high", "size", "expected"),
    [(18, 27, 1, True), (18, 27, 8.9, True), (18, 27, 9, False), (18, 27, None, None), (None, 27, 40, None)],
)
def test_hysteresis_is_smaller_than_the_gap_between_the_warnings(
    low: float | None, high: float | None, size: float | None, *, expected: bool | None
) -> None:
    """As wide as the gap is too wide: one alarm would clear only where the other begins."""
    values = (low, high, size)
    kelvin = dict(zip((*TEMPERATURE[1:3], "temperature_hysteresis_c"), values, strict=True))
    percent = dict(zip((*HUMIDITY[1:3], "humidity_hysteresis_percent"), values, strict=True))
    for fact, member in (
        (probe.temperature_hysteresis_fits, kelvin),
        (probe.humidity_hysteresis_fits, percent),
    ):
        known = {name: value for name, value in member.items() if value is not None}
        assert fact(known, {}, CONTEXT) is expected


@pytest.mark.parametrize(
    ("member", "temperature", "humidity"),
    [
        ({"measures": ["temperature"]}, True, False),
        ({"measures": ["temperature", "humidity"]}, True, True),
        ({"temperature_high_warning_c": 27}, True, None),
        ({"humidity_high_warning_percent": 60}, None, True),
        ({}, None, None),
        ({"measures": ["temperature"], "humidity_high_warning_percent": 60}, True, None),
        ({"measures": []}, False, False),
    ],
)
def test_a_sensor_measures_what_it_says_or_has_thresholds_for(
    member: Settings, *, temperature: bool | None, humidity: bool | None
) -> None:
    """Without a word of its own a threshold speaks for it; if the two disagree nothing is known."""
    assert probe.sensor_measures_temperature(member, {}, CONTEXT) is temperature
    assert probe.sensor_measures_humidity(member, {}, CONTEXT) is humidity


LEVELS = st.integers(0, 6)


@given(st.tuples(LEVELS, LEVELS, LEVELS, LEVELS))
def test_the_order_of_part_is_never_the_opposite_of_the_order_of_all(
    values: tuple[int, int, int, int],
) -> None:
    """Leaving thresholds out gives the same answer or none, for each of the 16 ways to do so."""
    whole = probe.temperature_thresholds_ordered(sensor(TEMPERATURE, values), {}, CONTEXT)
    assert whole is (values[0] <= values[1] < values[2] <= values[3])
    for kept in product((True, False), repeat=4):
        part = tuple(value if keep else None for value, keep in zip(values, kept, strict=True))
        assert probe.temperature_thresholds_ordered(sensor(TEMPERATURE, part), {}, CONTEXT) in (None, whole)
