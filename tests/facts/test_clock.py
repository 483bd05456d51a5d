"""Facts on the clock: servers counted, servers repeated, and the offset worked by hand."""

from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import clock
from auditor.facts.fact import Context, Settings
from auditor.facts.moment import moment_of
from tests.facts.less_known import thinned

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))


def servers(*hosts: str | None) -> Settings:
    """Return a card with these time servers; None is a server without a host."""
    return {"time": {"servers": [{"port": 123} if host is None else {"host": host} for host in hosts]}}


def test_every_entry_counts_as_a_server() -> None:
    """A repeated one too: that is another fact's matter."""
    assert clock.time_server_count(servers("a", "a", None), CONTEXT) == 3
    assert clock.time_server_count({}, CONTEXT) is None


def test_repeated_servers_are_named_once_and_sorted() -> None:
    """Spelling makes no other host."""
    assert clock.repeated_time_servers(servers("b", "A.", "a", "B", "b"), CONTEXT) == ["a", "b"]
    assert clock.repeated_time_servers(servers("a", "b"), CONTEXT) == []


def test_a_server_without_a_host_may_be_a_repeated_one() -> None:
    """Unless there is no other, or a repetition is there already."""
    assert clock.repeated_time_servers(servers("a", None), CONTEXT) is None
    assert clock.repeated_time_servers(servers(None), CONTEXT) == []
    assert clock.repeated_time_servers(servers("a", "a", None), CONTEXT) == ["a"]
    assert clock.repeated_time_servers({}, CONTEXT) is None


@pytest.mark.parametrize(
    ("card", "reference", "seconds"),
    [
        ("2026-11-20T09:30:00Z", "2026-11-20T09:30:00+00:00", 0.0),
        ("2026-11-20T10:30:00.25+01:00", "2026-11-20T09:30:00Z", 0.25),
        ("2026-11-20T09:29:00Z", "2026-11-20T09:30:00Z", 60.0),
        ("2026-11-20T09:30:00Z", "2026-11-20T09:30:00+01:00", 3600.0),
        ("2026-02-29T09:30:00Z", "2026-11-20T09:30:00Z", None),
    ],
)
def test_the_offset_is_the_time_between_both_clocks(card: str, reference: str, seconds: float | None) -> None:
    """By hand; zones are taken into account, and a day that no calendar has tells nothing."""
    record = {"capture": {"card_clock": card, "reference_clock": reference}}
    assert clock.clock_offset_s(record, CONTEXT) == seconds


def test_a_month_of_ordinary_drift_is_measured() -> None:
    """20 ppm over 30 days are 51.84 s: definition of ppm, 20e-6 times 86 400 s times 30."""
    record = {"capture": {"card_clock": "2026-11-20T09:30:51.84Z", "reference_clock": "2026-11-20T09:30:00Z"}}
    assert clock.clock_offset_s(record, CONTEXT) == pytest.approx(20e-6 * 86400 * 30)


def test_one_clock_alone_tells_no_offset() -> None:
    """Both readings are needed."""
    assert clock.clock_offset_s({"capture": {"card_clock": "2026-11-20T09:30:00Z"}}, CONTEXT) is None
    assert clock.clock_offset_s({}, CONTEXT) is None


@given(st.datetimes(timezones=st.just(UTC)))
def test_moments_are_read_back_as_they_were_written(moment: datetime) -> None:
    """Every moment in the form of RFC 3339, with Z or a numeric offset."""
    assert moment_of(moment.isoformat()) == moment
    assert moment_of(moment.isoformat().replace("+00:00", "Z")) == moment


@given(st.lists(st.sampled_from(["a", "b", "c", "d"]), max_size=5), st.data())
def test_more_knowledge_never_turns_the_answer_on_repetition(hosts: list[str], data: st.DataObject) -> None:
    """Whether there is a repeated server stays decided once it is."""
    whole = servers(*hosts)
    less = data.draw(st.composite(lambda draw: thinned(whole, draw))())
    known = clock.repeated_time_servers(less, CONTEXT)
    assert known is None or bool(known) is bool(clock.repeated_time_servers(whole, CONTEXT))
