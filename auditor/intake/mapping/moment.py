"""Dates and times in a stated form → RFC 3339. The form is made of plain tokens, not of patterns."""

import re
from collections.abc import Mapping
from datetime import UTC, date, datetime, timedelta, timezone

from auditor.intake.mapping.conversion_error import ConversionError

LONGEST = 64
"""Characters of a date; our own figure."""

DATE_FORM = "YYYY-MM-DD"
MOMENT_FORM = "YYYY-MM-DDThh:mm:ssOFFSET"
UNIX = "unix"
"""The form of seconds since 1970-01-01T00:00:00Z."""

_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_STAR = "*"
_TOKENS = ("YYYY", "YY", "MON", "MM", "DD", "hh", "mm", "ss", "AMPM", "OFFSET", _STAR)
_TOKEN = re.compile("|".join(re.escape(token) for token in sorted(_TOKENS, key=len, reverse=True)))

# Every piece is met or not without going back: digits of a bounded count, or bounded letters.
_PIECES: Mapping[str, str] = {
    "YYYY": "[0-9]{4}",
    "YY": "[0-9]{2}",
    "MON": "[A-Za-z]{3,9}",
    "MM": "[0-9]{1,2}",
    "DD": "[0-9]{1,2}",
    "hh": "[0-9]{1,2}",
    "mm": "[0-9]{2}",
    "ss": r"[0-9]{2}(?:\.[0-9]{1,9})?",
    "AMPM": r"[AaPp]\.?[Mm]\.?",
    "OFFSET": r"Z|z|(?:UTC|GMT)?[+-][0-9]{1,2}(?::?[0-9]{2})?|UTC|GMT",
    _STAR: "[A-Za-z]{1,12}",
}
_MOST_STARS = 2  # each more would multiply the ways to match a text
_CENTURY = 2000
_NOON = 12
_LARGEST_UNIX = 4_102_444_800  # 2100-01-01
_OFFSET = re.compile(r"(?:UTC|GMT)?([+-])([0-9]{1,2})(?::?([0-9]{2}))?", re.IGNORECASE)


def faults_of_form(form: str, *, with_time: bool) -> str:
    """Return what is wrong with a form, empty if it can be used."""
    if form == UNIX:
        return ""
    every = [found[0] for found in _TOKEN.finditer(form)]
    tokens = [one for one in every if one != _STAR]
    if len(tokens) != len(set(tokens)):
        return "a part stands twice"
    if every.count(_STAR) > _MOST_STARS:
        return f"more than {_MOST_STARS} words to leave out (*)"
    has_date = {"DD"} <= set(tokens) and {"YYYY", "YY"} & set(tokens) and {"MM", "MON"} & set(tokens)
    if not has_date:
        return "year, month or day is missing"
    if with_time and not {"hh", "mm"} <= set(tokens):
        return "hours or minutes are missing"
    return ""


def read_date(text: str, form: str) -> str:
    """Return a date of RFC 3339 from a text of a form; a time in it is left out.

    Raises:
        ConversionError: if the text has another form, or is no day of the calendar.
    """
    if form == UNIX:
        return _unix(text).date().isoformat()
    return _day(_parts(text, form or DATE_FORM)).isoformat()


def read_moment(text: str, form: str, offset: str) -> str:
    """Return a date and time of RFC 3339 from a text of a form.

    ``offset`` counts where the text has none.

    Raises:
        ConversionError: if the text has another form, is no moment, or has no offset.
    """
    if form == UNIX:
        return _unix(text).isoformat()
    parts = _parts(text, form or MOMENT_FORM)
    told = parts.get("OFFSET", "") or offset
    if not told:
        raise ConversionError("a time without an offset, and the map states none (offset)")
    day, (hour, minute, second, fraction) = _day(parts), _time(parts)
    try:
        moment = datetime(day.year, day.month, day.day, hour, minute, second, fraction, tzinfo=_zone(told))
    except ValueError as error:
        raise ConversionError("no time of a day") from error
    return moment.isoformat()


def _parts(text: str, form: str) -> Mapping[str, str]:
    """Match a text with a form, piece by piece."""
    if len(text) > LONGEST:
        raise ConversionError("not of the form that the map states (form)")
    found = re.fullmatch(_pattern(form), text.strip(), re.IGNORECASE)
    if found is None:
        raise ConversionError("not of the form that the map states (form)")
    return {key: value for key, value in found.groupdict().items() if value is not None}


def _pattern(form: str) -> str:
    pieces, at = [], 0
    for token in _TOKEN.finditer(form):
        pieces.append(_literal(form[at : token.start()]))
        piece = _PIECES[token[0]]
        pieces.append(f"(?:{piece})" if token[0] == _STAR else f"(?P<{token[0]}>{piece})")
        at = token.end()
    return "".join([*pieces, _literal(form[at:])])


def _literal(text: str) -> str:
    return r"\s++".join(re.escape(part) for part in re.split(r"\s+", text))


def _day(parts: Mapping[str, str]) -> date:
    year = int(parts["YYYY"]) if "YYYY" in parts else _CENTURY + int(parts["YY"])
    month = int(parts["MM"]) if "MM" in parts else _month(parts["MON"])
    try:
        return date(year, month, int(parts["DD"]))
    except ValueError as error:
        raise ConversionError("no day of the calendar") from error


def _month(word: str) -> int:
    short = word[:3].casefold()
    if short not in _MONTHS:
        raise ConversionError("no month in English")
    return _MONTHS.index(short) + 1


def _time(parts: Mapping[str, str]) -> tuple[int, int, int, int]:
    hour = int(parts.get("hh", "0"))
    if "AMPM" in parts:
        if not 1 <= hour <= _NOON:
            raise ConversionError("no time of a day")
        hour = hour % _NOON + (_NOON if parts["AMPM"][0] in "pP" else 0)
    second, _, fraction = parts.get("ss", "0").partition(".")
    return hour, int(parts.get("mm", "0")), int(second), int(fraction[:6].ljust(6, "0") or 0)


def _zone(offset: str) -> timezone:
    if offset.upper() in ("Z", "UTC", "GMT"):
        return UTC
    found = _OFFSET.fullmatch(offset)
    if found is None:
        raise ConversionError("no offset such as +01:00")
    span = timedelta(hours=int(found[2]), minutes=int(found[3] or 0))
    if span >= timedelta(days=1):
        raise ConversionError("no offset such as +01:00")
    return timezone(-span if found[1] == "-" else span)


def _unix(text: str) -> datetime:
    if not (text.isascii() and text.isdecimal() and len(text) <= 10 and int(text) < _LARGEST_UNIX):  # noqa: PLR2004 - digits
        raise ConversionError("no seconds since 1970")
    return datetime.fromtimestamp(int(text), UTC)
