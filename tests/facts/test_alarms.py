"""Facts on alarm paths: which lead off the card, what they carry, when they were proved."""

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import alarms
from auditor.facts.fact import Context, Settings
from tests.facts.less_known import thinned

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))
MAIL = {"enabled": True, "recipients": [{"enabled": True, "alarms": ["on_battery", "overload"]}]}
RECEIVER = {"enabled": True, "alarms": ["battery_low"]}
LOG = {"events": ["login", "power_event"], "collectors": [{"enabled": True}]}
NO_MAIL = {"enabled": False, "recipients": []}
NO_LOG: Settings = {"events": [], "collectors": []}


def card(mail: Settings, receivers: list[Any] | None, log: Settings) -> Settings:
    """Return a record with these three ways; None leaves the receivers out."""
    return {"mail": mail, "snmp": {} if receivers is None else {"receivers": receivers}, "log": log}


@pytest.mark.parametrize(
    ("record", "first", "second"),
    [
        (card(MAIL, [RECEIVER], LOG), True, True),
        (card(MAIL, [], NO_LOG), True, False),
        (card(NO_MAIL, [RECEIVER, RECEIVER], NO_LOG), True, False),  # two receivers, one kind of way
        (card(NO_MAIL, [], LOG), True, False),
        (card(NO_MAIL, [], NO_LOG), False, False),
        (card(NO_MAIL, [], {"collectors": [{"enabled": True}], "events": ["login"]}), False, False),
        (card({**MAIL, "enabled": False}, [], NO_LOG), False, False),
        (card({"enabled": True, "recipients": [{"enabled": True, "alarms": []}]}, [], NO_LOG), False, False),
        (card(MAIL, None, NO_LOG), True, None),
        (card(NO_MAIL, None, NO_LOG), None, False),
        ({}, None, None),
    ],
)
def test_ways_off_the_card_are_counted_by_kind(
    record: Settings, *, first: bool | None, second: bool | None
) -> None:
    """Mail, SNMP and a collector are a way each, if on, with somebody at the end and something to say."""
    assert alarms.has_alarm_path(record, CONTEXT) is first
    assert alarms.has_second_alarm_path(record, CONTEXT) is second


def test_alarms_sent_are_those_of_enabled_recipients_and_receivers() -> None:
    """Each kind once, in order of the alphabet; what a disabled one has selected does not count."""
    silent = {"enabled": False, "alarms": ["temperature"]}
    assert alarms.alarms_sent(card(MAIL, [RECEIVER, silent], LOG), CONTEXT) == (
        "battery_low",
        "on_battery",
        "overload",
    )


@pytest.mark.parametrize(
    ("record", "sent"),
    [
        (card({**MAIL, "enabled": False}, [], LOG), ()),
        (card({"recipients": []}, [], LOG), ()),  # mail on or off: nobody is on the list
        (card({"recipients": MAIL["recipients"]}, [], LOG), None),
        (card(MAIL, None, LOG), None),
        (card(MAIL, [{"enabled": True}], LOG), None),
        (card(MAIL, [{"alarms": []}], LOG), ("on_battery", "overload")),
    ],
)
def test_alarms_sent_are_unknown_where_somebody_may_be_sent_more(
    record: Settings, sent: tuple[str, ...] | None
) -> None:
    """An absent switch or selection leaves the list open, unless it can't add anything."""
    assert alarms.alarms_sent(record, CONTEXT) == sent


@pytest.mark.parametrize(
    ("day", "age"),
    [("2026-11-25", 0), ("2025-11-25", 365), ("2026-11-26", 0), ("2027-01-01", None), ("2026-02-30", None)],
)
def test_tests_are_counted_in_days_to_the_audit(day: str, age: int | None) -> None:
    """Tomorrow is today in another time zone; a later day, or one of no calendar, proves nothing."""
    member = {"tested_on": day}
    assert alarms.mail_test_age_days({"mail": member}, CONTEXT) == age
    assert alarms.receiver_test_age_days(member, {}, CONTEXT) == age
    assert alarms.collector_test_age_days(member, {}, CONTEXT) == age


@pytest.mark.parametrize(
    ("sender", "usable"),
    [
        ("ups-01@example.org", True),
        ("card", False),
        ("@example.org", False),
        ("card@", False),
        ("the card@example.org", False),
        (None, None),
    ],
)
def test_a_sender_needs_a_local_part_and_a_domain(sender: str | None, *, usable: bool | None) -> None:
    """Forms of RFC 5321 section 4.1.2 (from memory); a quoted part with spaces is refused."""
    record: Settings = {"mail": {} if sender is None else {"from_address": sender}}
    assert alarms.sender_is_mailbox(record, CONTEXT) is usable


MEMBERS = st.lists(
    st.fixed_dictionaries({"enabled": st.booleans(), "alarms": st.sampled_from([[], ["overload"]])}),
    max_size=2,
)


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Settings, Settings]:
    """Draw a full record and the same record with less known."""
    mail = {"enabled": draw(st.booleans()), "recipients": draw(MEMBERS)}
    log = {"events": draw(st.sampled_from([[], ["power_event"]])), "collectors": draw(MEMBERS)}
    full = card(mail, draw(MEMBERS), log)
    return full, thinned(full, draw)


@given(pairs())
def test_knowing_less_gives_the_same_answer_or_none(pair: tuple[Settings, Settings]) -> None:
    """What is told from part of a record is what the whole tells."""
    full, part = pair
    for fact in (alarms.has_alarm_path, alarms.has_second_alarm_path, alarms.alarms_sent):
        assert fact(part, CONTEXT) in (None, fact(full, CONTEXT)), fact.name
