"""What to enter, in words: whole, with units, and told apart from what is only noted."""

from typing import Any

import pytest

from auditor.procedure.course import Course, courses
from auditor.procedure.edit import Edit, EditKind
from auditor.procedure.order import section_of
from auditor.procedure.plan import Asked, CardPlan, Done
from auditor.procedure.step import Step
from auditor.procedure.window import Timing, share_out
from auditor.record.schema import card_schema
from auditor.report.visit_entry import entry_of, is_noted, value_to_enter
from auditor.report.visit_step import step_text
from auditor.report.visit_words import PAGES, page_of, seen_of
from tests.procedure.sample import ADDRESS, compliant, demo_program, demo_records, plan


def course_of(found: CardPlan) -> Course:
    """Return what comes of a plan at one visit."""
    return courses([found], share_out([found], Timing(), None))[0]


@pytest.mark.parametrize(
    ("name", "value", "text"),
    [
        ("session_timeout_s", 900, "900 s"),
        ("maximum_age_days", 30, "30 days"),
        ("temperature_high_critical_c", 32.5, "32.5 °C"),
        ("minimum_charge_percent", 10, "10 %"),
        ("start_at_runtime_min", 8, "8 min"),
        ("enabled", True, "yes"),
        ("enabled", False, "no"),
        ("versions", ["tls_1_2", "tls_1_3"], "tls_1_2, tls_1_3"),
        ("alarms", [], "none"),
        ("concurrent_sessions", 3, "3"),
    ],
)
def test_a_value_is_told_as_it_is_entered(name: str, value: Any, text: str) -> None:
    """With the unit that its setting's name ends in."""
    assert value_to_enter(value, name) == text


def test_a_long_list_is_told_whole() -> None:
    """Evidence may be cut; what somebody has to type may not."""
    events = [f"event_number_{number}" for number in range(40)]
    assert entry_of(Edit(("log", "events"), events), {}).value == ", ".join(events)


def test_a_long_text_is_told_whole() -> None:
    """As a list is."""
    text = "a" * 300
    assert value_to_enter(text, "banner") == text


def test_of_a_former_secret_only_its_place_is_told() -> None:
    """Whoever goes back fetches it where the site keeps it."""
    edit = Edit(("snmp", "users", "0", "auth_secret"), {"sealed": {}}, EditKind.NEW_SECRET, "New")
    before = {"snmp": {"users": [{"auth_secret": {"empty": True}}]}}
    assert entry_of(edit, before).before == "the former secret, from the site's store"


def test_what_the_record_alone_holds_is_noted_not_entered() -> None:
    """A date of a test is no field of a card, and is not taken back; a host is, and is."""
    note = Edit(("mail", "tested_on"), "2026-11-25", EditKind.ON_PROOF, "the day")
    host = Edit(("mail", "server"), "mail.example.org")
    before = {"mail": {"server": "0.0.0.0", "tested_on": "2020-01-01"}}  # noqa: S104 - a value
    assert (is_noted(note), is_noted(host)) == (True, False)
    assert entry_of(note, before).setting == "To note in the new record: Mail: Tested on"
    step = Step("mail", "mail", (), ())
    course = course_of(plan(compliant({})))
    only_note = step_text("1", Done(step, (note,), (), before), "mail", course)
    assert only_note.back == "Nothing was entered on the card: strike the note."
    assert only_note.expected == "It was seen to work, as below, and is noted."
    both = step_text("1", Done(step, (note, host), (), before), "mail", course)
    assert both.back == "Enter again what was there. Mail: Server: 0.0.0.0."


@pytest.mark.parametrize(
    ("tokens", "value", "said"),
    [
        (("services", "telnet", "enabled"), False, "A check of a service that is switched off"),
        (("services", "rest_api", "transport"), "https", "Programs that use the service"),
        (("services", "serial_console", "idle_timeout_s"), 600, "A change of configuration in the log"),
        (("snmp", "versions"), ["v3"], "Polls and notifications fail"),
    ],
)
def test_what_monitoring_sees_follows_from_what_is_changed(
    tokens: tuple[str, ...], value: Any, said: str
) -> None:
    """Not from the page alone: nobody polls a serial console."""
    assert seen_of(tokens, value).startswith(said)


def test_every_section_of_a_record_has_a_kind_of_page() -> None:
    """So that no step says that a setting is where the card keeps it."""
    assert set(card_schema()["properties"]) - {"schema", "site_notes", "unmapped"} <= set(PAGES)
    assert page_of(("card", "firmware_version")) == "maintenance"


@pytest.mark.parametrize("record", demo_records(), ids=[record.card_id for record in demo_records()])
def test_every_step_of_the_demo_estate_is_told_in_full(record: Any) -> None:
    """Nothing is empty, no value is cut, no placeholder is left, and no two titles are the same."""
    found = plan(record, Asked(ADDRESS), demo_program())
    course = course_of(found)
    texts = [step_text("1", done, section_of(done.step), course) for done in found.done.values()]
    for text in texts:
        told = (text.title, text.where, text.expected, text.back, text.monitoring, *text.what, *text.verify)
        assert all(told), text.id
        assert not [each for each in told if "{" in each or "as described" in each], text.id
        assert not [entry for entry in text.enter if "…" in entry.value or not entry.value], text.id
    assert len({text.title for text in texts}) == len(texts)
