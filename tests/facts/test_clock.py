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


@pytest.mark.parametrize(
    ("hosts", "sources"),
    [
        (["ntp1.example.org", "ntp2.example.org", "ntp3.example.net", "ntp4.example.net"], 2),
        (["NTP.example.org.", "ntp.example.org"], 1),
        (["example.org", "ntp.example.org", "a.b.example.org"], 2),
        (["192.0.2.7", "192.0.2.200", "198.51.100.7"], 2),
        (["2001:db8:1::7", "2001:db8:1:ffff::7", "2001:db8:2::7", "[2001:db8:2::8]"], 2),
        (["fe80::1%eth0", "fe80::2"], 1),
        (["clock", "clock2"], 2),
        ([], 0),
        (["clock", None], None),
    ],
)
def test_servers_that_share_domain_or_subnet_are_one_source(
    hosts: list[str | None], sources: int | None
) -> None:
    """By hand: a domain, a /24 or a /48 counts once."""
    assert clock.independent_time_sources(servers(*hosts), CONTEXT) == sources


def test_servers_that_were_not_captured_are_no_known_number_of_sources() -> None:
    """Absent is unknown."""
    assert clock.independent_time_sources({}, CONTEXT) is None


# Source: definition of ppm; RFC 5905 rounds the first row to about 1.3 s.
@pytest.mark.parametrize(
    ("ppm", "days", "seconds"),
    [(15, 1, 1.296), (20, 30, 51.84), (20, 365, 630.72), (50, 90, 388.8), (100, 30, 259.2)],
)
def test_drift_grows_with_the_span(ppm: float, days: int, seconds: float) -> None:
    """The table of drift in the project's fact sheet, section 12 (computed there)."""
    assert clock.drift_s(days * 86400, ppm=ppm) == pytest.approx(seconds)


def test_a_clock_is_as_sure_as_its_offset_and_the_drift_between_two_looks() -> None:
    """By hand: 2 s measured and 86 400 s at 15 ppm (RFC 5905) make 3.296 s."""
    capture = {"card_clock": "2026-11-20T09:30:02.00Z", "reference_clock": "2026-11-20T09:30:00.00Z"}
    record = {"capture": capture, "time": {"source": "ntp", "poll_interval_s": 86400}}
    assert clock.clock_uncertainty_s(record) == pytest.approx(3.296)
    assert clock.clock_uncertainty_s(record, ppm=100) == pytest.approx(10.64)


@pytest.mark.parametrize(("card", "reference"), [("02", "00"), ("02.5", "00"), ("02", "00.5")])
def test_a_clock_read_in_whole_seconds_may_be_off_by_one_more(card: str, reference: str) -> None:
    """A reading cut to the whole second hides up to a second; the difference of two such no more."""
    capture = {
        "card_clock": f"2026-11-20T09:30:{card}Z",
        "reference_clock": f"2026-11-20T09:30:{reference}Z",
    }
    record = {"capture": capture, "time": {"source": "ntp", "poll_interval_s": 0}}
    assert clock.clock_uncertainty_s(record) == float(card) - float(reference) + 1


@pytest.mark.parametrize(
    "changed",
    [{"time": {"source": "manual", "poll_interval_s": 60}}, {"time": {"source": "ntp"}},
     {"time": {"poll_interval_s": 60}}, {"capture": {}}],
)  # fmt: skip
def test_nothing_bounds_a_clock_of_which_too_little_is_known(changed: Settings) -> None:
    """Set by hand, no interval, no source, or no measured offset."""
    capture = {"card_clock": "2026-11-20T09:30:02Z", "reference_clock": "2026-11-20T09:30:00Z"}
    record = {"capture": capture, "time": {"source": "ntp", "poll_interval_s": 60}, **changed}
    assert clock.clock_uncertainty_s(record) is None
