"""Numbers with units and spans of time."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.intake.mapping.conversion_error import ConversionError
from auditor.intake.mapping.quantity import duration, number


@pytest.mark.parametrize(
    ("text", "wanted", "value"),
    [
        ("900", "", 900),
        ("0.5", "", 0.5),
        ("-12", "", -12),
        ("15 min", "s", 900),
        ("1h", "s", 3600),
        ("1500 ms", "s", 1.5),
        ("90 s", "min", 1.5),
        ("2 weeks", "days", 14),
        ("30 %", "%", 30),
        ("80%RH", "%", 80),
        ("45", "%", 45),
        ("21.5 °C", "°C", 21.5),
        ("3.6 K", "K", 3.6),
    ],
)
def test_a_number_is_in_the_unit_of_the_setting(text: str, wanted: str, value: float) -> None:
    """The unit of the text gives way to that which the setting's name states."""
    assert number(text, wanted, "", decimal=".") == value


# Source: SI Brochure (9th edition) section 2.3.1: 0 °C is 273.15 K; water freezes at 32 °F and boils
# at 212 °F (common knowledge), so 180 °F of difference are 100 K.
@pytest.mark.parametrize(
    ("text", "celsius"),
    [("32 °F", 0), ("212 F", 100), ("-40 deg F", -40), ("273.15 K", 0), ("300 kelvin", 26.85)],
)
def test_temperatures_meet_at_the_fixed_points(text: str, celsius: float) -> None:
    """Fahrenheit and kelvin are shifted as well as scaled."""
    assert number(text, "°C", "", decimal=".") == celsius


def test_a_difference_of_temperatures_is_only_scaled() -> None:
    """A hysteresis of 180 °F is one of 100 K, and one of 2 K is one of 2 °C."""
    assert (number("180 °F", "K", "", decimal="."), number("2 °C", "K", "", decimal=".")) == (100, 2)


def test_the_unit_of_the_map_counts_only_where_the_text_has_none() -> None:
    """A text that names its unit is believed."""
    assert (number("15", "s", "min", decimal="."), number("15 s", "s", "min", decimal=".")) == (900, 15)


def test_a_decimal_comma_is_read_where_the_map_says_so() -> None:
    """One and a half is never fifteen."""
    assert number("1,5 °C", "°C", "", decimal=",") == 1.5
    with pytest.raises(ConversionError, match="another sign"):
        number("1,5 °C", "°C", "", decimal=".")


@pytest.mark.parametrize(
    ("text", "wanted", "why"),
    [
        ("900", "s", "without a unit"),
        ("21", "°C", "without a unit"),
        ("15 furlongs", "s", "does not fit"),
        ("15 min", "°C", "does not fit"),
        ("10 s", "", "none belongs"),
        ("soon", "s", "not a number"),
        ("1e9", "", "not a number"),
        ("", "", "not a number"),
        ("1 2", "", "not a number"),
        ("9" * 400, "", "not a number"),
    ],
)
def test_what_is_no_such_number_is_refused(text: str, wanted: str, why: str) -> None:
    """Nothing is guessed, least of all a unit; the reason does not repeat the text."""
    with pytest.raises(ConversionError, match=why) as caught:
        number(text, wanted, "", decimal=".")
    assert not text or text not in caught.value.why


@pytest.mark.parametrize(
    ("text", "seconds"),
    [
        ("1 h 30 min", 5400),
        ("1h30m", 5400),
        ("3 min, 20 s", 200),
        ("2 days and 1 hour", 176_400),
        ("0:15:00", 900),
        ("PT15M", 900),
        ("P1DT12H", 129_600),
        ("P2W", 1_209_600),
        ("45 s", 45),
    ],
)
def test_a_span_of_time_adds_up(text: str, seconds: int) -> None:
    """Parts with units, clock forms, and the durations of ISO 8601-1."""
    assert duration(text, "s", "", form="", decimal=".") == seconds


def test_a_clock_of_two_numbers_needs_its_form() -> None:
    """Whether 1:30 is minutes or hours is for the map to say."""
    assert duration("1:30", "s", "", form="hh:mm", decimal=".") == 5400
    assert duration("1:30", "s", "", form="mm:ss", decimal=".") == 90
    assert duration("-01:30", "min", "", form="hh:mm", decimal=".") == -90
    with pytest.raises(ConversionError, match="must say which"):
        duration("1:30", "s", "", form="", decimal=".")


@pytest.mark.parametrize(
    "text", ["never", "P", "PT", "P1Y", "P1DT", "1:75:00", "12 h soon", "1h" * 40, ":::"]
)
def test_what_is_no_span_of_time_is_refused(text: str) -> None:
    """A month has no fixed length; a minute has sixty seconds."""
    with pytest.raises(ConversionError):
        duration(text, "s", "", form="", decimal=".")


@given(st.integers(0, 9_999_999))
def test_every_form_of_a_span_says_the_same(seconds: int) -> None:
    """Parts, clock form and ISO 8601 of one span give back its seconds, and timedelta agrees."""
    hours, rest = divmod(seconds, 3600)
    minutes, left = divmod(rest, 60)
    forms = [f"{seconds} s", f"{hours} h {minutes} min {left} s", f"PT{hours}H{minutes}M{left}S"]
    forms += [f"{hours}:{minutes:02}:{left:02}"] if hours < 10_000 else []
    assert {duration(form, "s", "", form="", decimal=".") for form in forms} == {seconds}
    assert timedelta(hours=hours, minutes=minutes, seconds=left).total_seconds() == seconds


@given(st.integers(-1000, 5000))
def test_fahrenheit_comes_back_from_celsius(tenths: int) -> None:
    """Converted back by the definition, the temperature is the same to a hundredth."""
    fahrenheit = tenths / 10
    assert abs(number(f"{fahrenheit} F", "°C", "", decimal=".") * 9 / 5 + 32 - fahrenheit) < 0.02
