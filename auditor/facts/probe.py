"""Facts: whether the thresholds of environment sensors make sense together.

Absent thresholds are unknown, not missing: a record can't say that a card has none set.
"""

from itertools import combinations

from auditor.facts.fact import Context, Settings, fact

_TEMPERATURE = (
    "temperature_low_critical_c",
    "temperature_low_warning_c",
    "temperature_high_warning_c",
    "temperature_high_critical_c",
)
_HUMIDITY = (
    "humidity_low_critical_percent",
    "humidity_low_warning_percent",
    "humidity_high_warning_percent",
    "humidity_high_critical_percent",
)
_SENSORS = "/probe/sensors"


@fact(reads=["/measures", *(f"/{name}" for name in _TEMPERATURE)],
      source="common practice, no source", about=_SENSORS)  # fmt: skip
def sensor_measures_temperature(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Tell whether the sensor measures temperature: it says so, or has such a threshold."""
    return _measures(member, "temperature", _TEMPERATURE)


@fact(reads=["/measures", *(f"/{name}" for name in _HUMIDITY)],
      source="common practice, no source", about=_SENSORS)  # fmt: skip
def sensor_measures_humidity(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Tell whether the sensor measures humidity: it says so, or has such a threshold."""
    return _measures(member, "humidity", _HUMIDITY)


@fact(reads=[f"/{name}" for name in (_TEMPERATURE[2], *_TEMPERATURE)],
      source="common practice, no source", about=_SENSORS)  # fmt: skip
def temperature_thresholds_ordered(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Tell whether low critical ≤ low warning < high warning ≤ high critical, in °C."""
    return _are_ordered([member.get(name) for name in _TEMPERATURE])


@fact(reads=[f"/{name}" for name in (_HUMIDITY[2], *_HUMIDITY)],
      source="common practice, no source", about=_SENSORS)  # fmt: skip
def humidity_thresholds_ordered(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Tell whether low critical ≤ low warning < high warning ≤ high critical, in percent."""
    return _are_ordered([member.get(name) for name in _HUMIDITY])


@fact(reads=["/temperature_hysteresis_c", "/temperature_low_warning_c", "/temperature_high_warning_c"],
      source="common practice, no source", about=_SENSORS)  # fmt: skip
def temperature_hysteresis_fits(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Tell whether the hysteresis is smaller than the gap between the two warnings."""
    return _fits(member, "temperature_hysteresis_c", _TEMPERATURE)


@fact(reads=["/humidity_hysteresis_percent", "/humidity_low_warning_percent",
             "/humidity_high_warning_percent"],
      source="common practice, no source", about=_SENSORS)  # fmt: skip
def humidity_hysteresis_fits(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Tell whether the hysteresis is smaller than the gap between the two warnings."""
    return _fits(member, "humidity_hysteresis_percent", _HUMIDITY)


def _measures(member: Settings, kind: str, thresholds: tuple[str, ...]) -> bool | None:
    """Answer from what the sensor says of itself and from its thresholds; None if they disagree."""
    measures = member.get("measures")
    if measures is not None and kind in measures:
        return True
    has_threshold = not member.keys().isdisjoint(thresholds)
    return None if has_threshold is (measures is not None) else has_threshold


def _are_ordered(thresholds: list[float | None]) -> bool | None:
    low_critical, low_warning, high_warning, high_critical = thresholds
    if None not in thresholds:
        return low_critical <= low_warning < high_warning <= high_critical  # type: ignore[operator]
    return False if _some_pair_is_crossed(thresholds) else None


def _some_pair_is_crossed(thresholds: list[float | None]) -> bool:
    """Compare every known pair: a low one and a high one must differ, two of a side need not."""
    for (low_place, low), (high_place, high) in combinations(enumerate(thresholds), 2):
        must_differ = low_place < 2 <= high_place  # noqa: PLR2004 - two thresholds a side
        if low is not None and high is not None and (low > high or (must_differ and low == high)):
            return True
    return False


def _fits(member: Settings, hysteresis: str, thresholds: tuple[str, ...]) -> bool | None:
    values = (member.get(thresholds[1]), member.get(thresholds[2]), member.get(hysteresis))
    low, high, size = values
    if low is None or high is None or size is None:
        return None
    return bool(size < high - low)
