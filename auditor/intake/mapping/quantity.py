"""Numbers with units and spans of time, as people and exports write them → numbers in one unit."""

import re
from collections.abc import Mapping
from decimal import Decimal
from types import MappingProxyType

from auditor.intake.mapping.conversion_error import ConversionError

LONGEST = 40
"""Characters of a number or a span of time; our own figure."""

_UNSIGNED = r"[0-9]{1,15}(?:[.,][0-9]{1,9})?"
_NUMBER = re.compile(rf"(?P<number>[+-]?{_UNSIGNED})\s*+(?P<unit>[^\d\s.,+-][^\d]{{0,20}})?")
_PART = re.compile(rf"\s*+(?P<number>{_UNSIGNED})\s*+(?P<unit>[A-Za-z]{{1,8}})\.?,?(?:\s++and\b)?")
_CLOCK = re.compile(r"(?P<sign>[+-]?)(?P<first>[0-9]{1,4}):(?P<second>[0-9]{2})(?::(?P<third>[0-9]{2}))?")

# Source: ISO 8601-1:2019 section 5.5.2 (durations), from memory; years and months have no fixed length.
_ISO = re.compile(
    r"P(?:([0-9]{1,6})W)?(?:([0-9]{1,6})D)?"
    r"(?:T(?:([0-9]{1,6})H)?(?:([0-9]{1,6})M)?(?:([0-9]{1,6})S)?)?"
)
_ISO_UNITS = ("week", "day", "h", "min", "s")


def _units(*groups: tuple[str, str]) -> Mapping[str, Decimal]:
    return MappingProxyType({word: Decimal(factor) for factor, words in groups for word in words.split()})


SECONDS = _units(
    ("0.001", "ms msec millisecond milliseconds"),
    ("1", "s sec secs second seconds"),
    ("60", "m min mins minute minutes"),
    ("3600", "h hr hrs hour hours"),
    ("86400", "d day days"),
    ("604800", "w week weeks"),
)
"""Seconds in each unit of time. Source: SI Brochure (9th edition) table 8, for min, h and d."""

_CELSIUS = frozenset(("c", "°c", "degc", "deg c", "celsius", "degrees c", "degrees celsius", "℃"))
_FAHRENHEIT = frozenset(("f", "°f", "degf", "deg f", "fahrenheit", "degrees f", "degrees fahrenheit", "℉"))
_KELVIN = frozenset(("k", "kelvin"))
_PERCENT = frozenset(("%", "percent", "pct", "%rh", "% rh", "%r.h.", "per cent"))
UNITS = frozenset((*SECONDS, *_CELSIUS, *_FAHRENHEIT, *_KELVIN, *_PERCENT))
"""Every unit that is known."""

_TIMES = {"s": "s", "min": "min", "days": "day"}
_NO_UNIT = "a number without a unit, and the map states none (unit)"


def number(text: str, wanted: str, unit: str, *, decimal: str) -> int | float:
    """Return the number in the unit wanted, from a text such as ``15 min`` or ``73.4 °F``.

    ``wanted`` is the unit of the setting: ``s``, ``min``, ``days``, ``°C``, ``K`` (a difference),
    ``%`` or empty. ``unit`` is that of a text without one. Whole results are whole numbers.

    Raises:
        ConversionError: if the text is no number, or has a unit that does not fit or is missing.
    """
    found = _NUMBER.fullmatch(text.strip()) if len(text) <= LONGEST else None
    if found is None:
        raise ConversionError("not a number")
    value = _decimal(found["number"], decimal)
    told = (found["unit"] or "").strip().casefold() or unit.casefold()
    return _plain(_in_unit(value, told, wanted))


def duration(text: str, wanted: str, unit: str, *, form: str, decimal: str) -> int | float:
    """Return a span of time in the unit wanted, from a number, parts, a clock form or ISO 8601.

    Parts are such as ``1 h 30 min``. A clock form of two parts needs ``form``: ``hh:mm`` or
    ``mm:ss``; one of three is hours, minutes and seconds.

    Raises:
        ConversionError: if the text is no span of time, or a unit is missing.
    """
    told = text.strip()
    if len(told) > LONGEST:
        raise ConversionError("not a span of time")
    seconds = _seconds(told, form, decimal)
    if seconds is None and not any(letter.isdecimal() for letter in told):
        raise ConversionError("not a span of time")
    if seconds is None:
        return number(told, wanted, unit, decimal=decimal)
    return _plain(seconds / SECONDS[_TIMES.get(wanted, "s")])


def _seconds(text: str, form: str, decimal: str) -> Decimal | None:
    if text[:1] in ("P", "p"):
        return _iso(text)
    return _clock(text, form) if ":" in text else _parts(text, decimal)


def _decimal(text: str, decimal: str) -> Decimal:
    if ("," if decimal == "." else ".") in text:
        raise ConversionError(f"a number with another sign than {decimal} in it (decimal)")
    return Decimal(text.replace(",", "."))


def _plain(value: Decimal) -> int | float:
    return int(value) if value == value.to_integral_value() else float(value)


def _in_unit(value: Decimal, unit: str, wanted: str) -> Decimal:
    if not wanted:
        if unit:
            raise ConversionError("a number with a unit, where none belongs")
        return value
    if wanted == "%":
        return _checked(value, fits=not unit or unit in _PERCENT)
    if not unit:
        raise ConversionError(_NO_UNIT)
    if wanted in ("°C", "K"):
        return _celsius(value, unit, is_span=wanted == "K")
    _checked(value, fits=unit in SECONDS)
    return value * SECONDS[unit] / SECONDS[_TIMES[wanted]]


def _checked(value: Decimal, *, fits: bool) -> Decimal:
    if not fits:
        raise ConversionError("a number with a unit that does not fit this setting")
    return value


def _celsius(value: Decimal, unit: str, *, is_span: bool) -> Decimal:
    """Source: SI Brochure (9th edition) section 2.3.1: t/°C = T/K - 273.15; 1 °F is 5/9 K."""
    if unit in _FAHRENHEIT:
        return ((value if is_span else value - 32) * 5 / 9).quantize(Decimal("0.01"))
    if unit in _KELVIN:
        return value if is_span else value - Decimal("273.15")
    return _checked(value, fits=unit in _CELSIUS)


def _iso(text: str) -> Decimal | None:
    found = _ISO.fullmatch(text.upper())
    if found is None or not any(found.groups()) or text[-1] in "Tt":
        raise ConversionError("not a span of time")
    parts = zip(found.groups(), _ISO_UNITS, strict=True)
    return sum((Decimal(count) * SECONDS[unit] for count, unit in parts if count), Decimal(0))


def _clock(text: str, form: str) -> Decimal:
    found = _CLOCK.fullmatch(text)
    if found is None:
        raise ConversionError("not a span of time")
    first, second, third = (int(found[name] or 0) for name in ("first", "second", "third"))
    if found["third"] is None and form not in ("hh:mm", "mm:ss"):
        raise ConversionError("two numbers with a colon: the map must say which (form hh:mm or mm:ss)")
    if max(second, third) > 59:  # noqa: PLR2004 - minutes and seconds end at 59
        raise ConversionError("not a span of time")
    short = found["third"] is None and form == "mm:ss"
    seconds = first * 60 + second if short else first * 3600 + second * 60 + third
    return Decimal(-seconds if found["sign"] == "-" else seconds)


def _parts(text: str, decimal: str) -> Decimal | None:
    """Add up parts with units; None if the text has no units at all."""
    total, at = Decimal(0), 0
    while at < len(text):
        found = _PART.match(text, at)
        if found is None or found["unit"].casefold() not in SECONDS:
            break
        total += _decimal(found["number"], decimal) * SECONDS[found["unit"].casefold()]
        at = found.end()
    return total if at == len(text) and at else None
