"""Dates and times in stated forms."""

import time
from datetime import UTC, date, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.intake.mapping.conversion_error import ConversionError
from auditor.intake.mapping.moment import faults_of_form, read_date, read_moment


@pytest.mark.parametrize(
    ("text", "form", "day"),
    [
        ("2026-11-25", "", "2026-11-25"),
        ("25.11.2026", "DD.MM.YYYY", "2026-11-25"),
        ("5/9/2026", "DD/MM/YYYY", "2026-09-05"),
        ("11/25/26", "MM/DD/YY", "2026-11-25"),
        ("25 Nov 2026", "DD MON YYYY", "2026-11-25"),
        ("November 25, 2026", "MON DD, YYYY", "2026-11-25"),
        ("Wed 25-NOV-2026", "* DD-MON-YYYY", "2026-11-25"),
        ("25.11.2026 09:30", "DD.MM.YYYY hh:mm", "2026-11-25"),
        ("1000000000", "unix", "2001-09-09"),  # Source: POSIX.1-2017, seconds since the Epoch
    ],
)
def test_a_date_is_read_by_its_form(text: str, form: str, day: str) -> None:
    """Tokens for year, month and day, in any order, with any signs between."""
    assert read_date(text, form) == day


@pytest.mark.parametrize(
    ("text", "form", "offset", "moment"),
    [
        ("2026-11-25T12:00:00Z", "", "", "2026-11-25T12:00:00+00:00"),
        ("2026-11-25T12:00:00+01:00", "", "", "2026-11-25T12:00:00+01:00"),
        ("25.11.2026 09:30", "DD.MM.YYYY hh:mm", "+01:00", "2026-11-25T09:30:00+01:00"),
        ("11/25/2026 12:05 AM", "MM/DD/YYYY hh:mm AMPM", "Z", "2026-11-25T00:05:00+00:00"),
        ("11/25/2026 12:05 p.m.", "MM/DD/YYYY hh:mm AMPM", "Z", "2026-11-25T12:05:00+00:00"),
        (
            "2026-11-25 12:00:00.250 UTC+2",
            "YYYY-MM-DD hh:mm:ss OFFSET",
            "",
            "2026-11-25T12:00:00.250000+02:00",
        ),
        ("0", "unix", "", "1970-01-01T00:00:00+00:00"),
    ],
)
def test_a_moment_has_an_offset_in_the_end(text: str, form: str, offset: str, moment: str) -> None:
    """That of the text, else that of the map."""
    assert read_moment(text, form, offset) == moment


@pytest.mark.parametrize(
    ("text", "form"),
    [
        ("31.02.2026", "DD.MM.YYYY"),
        ("25.13.2026", "DD.MM.YYYY"),
        ("25/11/2026", "DD.MM.YYYY"),
        ("25 Brumaire 2026", "DD MON YYYY"),
        ("-5", "unix"),
        ("99999999999", "unix"),
        ("", "DD.MM.YYYY"),
        ("2026-11-25" * 10, ""),
    ],
)
def test_what_is_no_day_of_that_form_is_refused(text: str, form: str) -> None:
    """Days that no calendar has, and texts of another form, become nothing."""
    with pytest.raises(ConversionError):
        read_date(text, form)


def test_a_moment_without_an_offset_is_refused() -> None:
    """The offset is not taken from anybody's clock."""
    with pytest.raises(ConversionError, match="offset"):
        read_moment("2026-11-25 12:00", "YYYY-MM-DD hh:mm", "")


@pytest.mark.parametrize("hour", ["24:00", "13:61", "0:30 PM"])
def test_no_time_of_a_day_is_refused(hour: str) -> None:
    """Neither hour 24, nor minute 61, nor half past zero in the afternoon."""
    form = "YYYY-MM-DD hh:mm AMPM" if "M" in hour else "YYYY-MM-DD hh:mm"
    with pytest.raises(ConversionError):
        read_moment(f"2026-11-25 {hour}", form, "Z")


@pytest.mark.parametrize(
    ("form", "with_time", "fault"),
    [
        ("DD.MM.YYYY", False, ""),
        ("DD.MM", False, "year, month or day is missing"),
        ("DD.MM.YYYY", True, "hours or minutes are missing"),
        ("DD.MM.YYYY DD", False, "a part stands twice"),
        ("* * * DD.MM.YYYY", False, "more than 2 words to leave out (*)"),
        ("unix", True, ""),
    ],
)
def test_a_form_that_can_not_work_is_told(form: str, with_time: bool, fault: str) -> None:
    """When the map is read, not when the first card is."""
    assert faults_of_form(form, with_time=with_time) == fault


@given(st.dates(date(1970, 1, 1), date(2099, 12, 31)))
def test_a_date_survives_every_form(day: date) -> None:
    """Written in a form and read in it, a date is itself."""
    forms = {
        "YYYY-MM-DD": "%Y-%m-%d",
        "DD.MM.YYYY": "%d.%m.%Y",
        "MON DD, YYYY": "%b %d, %Y",
        "MM/DD/YYYY": "%m/%d/%Y",
    }
    assert {read_date(day.strftime(written), form) for form, written in forms.items()} == {day.isoformat()}


@given(st.datetimes(datetime(1970, 1, 1), datetime(2099, 12, 31), timezones=st.just(UTC)))  # noqa: DTZ001 - bounds are naive
def test_a_moment_survives_its_form(moment: datetime) -> None:
    """Twelve hours with am and pm tell the same as twenty-four."""
    whole = moment.replace(microsecond=0)
    told = read_moment(whole.strftime("%Y-%m-%d %I:%M:%S %p"), "YYYY-MM-DD hh:mm:ss AMPM", "Z")
    assert told == whole.isoformat() == read_moment(str(int(whole.timestamp())), "unix", "")


def test_a_form_made_to_be_slow_is_not() -> None:
    """Two words to leave out, letters between them, and a text that fits until its last sign."""
    began = time.process_time()
    with pytest.raises(ConversionError):
        read_date("a" * 60 + "!", "*a*aDD.MM.YYYY")
    assert time.process_time() - began < 0.5
