"""The moment that ``--as-of`` names; holds no other option."""

import re
from datetime import UTC, datetime

import typer

_DATE = r"\d{4}-\d{2}-\d{2}"
_TIME = r"\d{2}:\d{2}:\d{2}(\.\d+)?"
_OFFSET = r"([Zz]|[+-]\d{2}:[0-5]\d)"
_RFC_3339 = re.compile(f"{_DATE}([Tt ]{_TIME}{_OFFSET})?", re.ASCII)

_EXPECTED = "expected a date such as 2026-11-25, or a date and time with its offset, such as"
_EXAMPLES = "2026-11-25T12:00:00+00:00 or 2026-11-25T12:00:00Z"


def moment_given(text: str) -> datetime:
    """Return the moment that a text names, in UTC; a date alone is 00:00 UTC of that day.

    A time without an offset is refused: it names another moment at every site.

    Raises:
        typer.BadParameter: if the text has another form, or no calendar or clock has it.

    Source: RFC 3339 section 5.6 (full-date and date-time).
    """
    if not _RFC_3339.fullmatch(text):
        raise typer.BadParameter(f"{_EXPECTED} {_EXAMPLES}; found {text!r}")
    try:
        moment = datetime.fromisoformat(text.upper())
        return moment.astimezone(UTC) if moment.tzinfo else moment.replace(tzinfo=UTC)
    except (ValueError, OverflowError) as error:
        raise typer.BadParameter(f"there is no such day or time: {text!r}") from error
