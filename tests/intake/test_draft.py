"""Building an import: settings and origins agree, and odd values are lost, not fatal."""

import pytest

from auditor.intake.draft import LONGEST_NAME, Draft
from auditor.intake.imported import Lost, Origin
from auditor.record.limits import DEFAULT

FIRST = Origin("export.xml", 1, "a")
SECOND = Origin("export.xml", 2, "b")


@pytest.fixture
def draft() -> Draft:
    """Return an empty draft."""
    return Draft("export.xml", "export")


def test_what_is_put_is_in_the_settings_with_its_origin(draft: Draft) -> None:
    """Objects and lists are made on the way; each setting has one origin."""
    assert draft.put("/accounts/0/name", "keeper", FIRST)
    assert draft.put("/snmp/versions", ["v3"], SECOND)
    imported = draft.done("card-1")
    assert imported.settings == {"accounts": [{"name": "keeper"}], "snmp": {"versions": ["v3"]}}
    assert imported.origins == {"/accounts/0/name": FIRST, "/snmp/versions": SECOND}
    assert (imported.card_id, imported.file, imported.method) == ("card-1", "export.xml", "export")


def test_false_zero_and_empty_lists_are_values(draft: Draft) -> None:
    """None of them is taken for absent."""
    draft.put("/snmp/enabled", False, FIRST)  # noqa: FBT003 - a setting
    draft.put("/access_policy/session_timeout_s", 0, FIRST)
    draft.put("/network/dns_servers", [], FIRST)
    assert draft.done("a").settings == {
        "snmp": {"enabled": False},
        "access_policy": {"session_timeout_s": 0},
        "network": {"dns_servers": []},
    }


def test_lists_grow_at_the_place_that_is_told(draft: Draft) -> None:
    """The next item stays the same until something is put there."""
    assert draft.next_item("/accounts") == "/accounts/0"
    assert draft.next_item("/accounts") == "/accounts/0"
    draft.put("/accounts/0/name", "keeper", FIRST)
    assert draft.next_item("/accounts") == "/accounts/1"


@pytest.mark.parametrize(
    ("pointer", "value", "why"),
    [
        ("/snmp/port", 70_001, "expected a whole number, 1 to 65535"),
        ("/snmp/port", "161", "expected a whole number, 1 to 65535"),
        ("/snmp/enabled", None, "null is refused"),
        ("/time/source", "sundial", "expected one of ntp, ptp, host, manual"),
        ("/card/location", "", "expected text of 1 to 255 characters"),
        ("/snmp/versions", ["v3", "v9"], "expected one of v1, v2c, v3"),
        ("/capture/card_clock", "2026-02-30T00:00:00Z", "expected a date and time"),
        ("/network/hostname", "********", "a masked value is not a secret"),
    ],
)
def test_a_value_that_does_not_fit_is_lost_and_not_repeated(
    draft: Draft, pointer: str, value: object, why: str
) -> None:
    """The schema decides; the loss says what was expected, and not what was found."""
    assert not draft.put(pointer, value, FIRST)
    imported = draft.done("a")
    [lost] = imported.lost
    assert lost.origin == FIRST
    assert lost.why.startswith(why)
    assert "found" not in lost.why
    assert (imported.settings, imported.origins) == ({}, {})


def test_an_empty_secret_is_one_and_a_masked_one_is_none(draft: Draft) -> None:
    """The empty text is known to be empty; asterisks only stand in a secret's place."""
    draft.put("/accounts/0/name", "keeper", FIRST)
    assert draft.put_secret("/accounts/0/password", "", FIRST)
    draft.put("/accounts/1/name", "reader", FIRST)
    assert not draft.put_secret("/accounts/1/password", "\N{BULLET}" * 8, SECOND)
    imported = draft.done("a")
    assert imported.settings["accounts"] == [
        {"name": "keeper", "password": {"empty": True}},
        {"name": "reader"},
    ]
    assert imported.lost == (Lost(SECOND, "a masked value is not a secret"),)


def test_a_setting_told_twice_is_kept_as_first_told(draft: Draft) -> None:
    """The same value again is no contradiction; another one is lost and names the first place."""
    assert draft.put("/network/hostname", "a", FIRST)
    assert draft.put("/network/hostname", "a", SECOND)
    assert not draft.put("/network/hostname", "b", SECOND)
    imported = draft.done("a")
    assert imported.settings == {"network": {"hostname": "a"}}
    assert imported.lost == (Lost(SECOND, "told again and differently; kept as told at export.xml:1 (a)"),)


def test_a_place_that_the_schema_does_not_know_is_a_fault_of_the_reader(draft: Draft) -> None:
    """A reader that puts nonsense is found out by its first test."""
    with pytest.raises(ValueError, match="knows no colour"):
        draft.put("/card/colour", "red", FIRST)


def test_a_gap_in_a_list_is_a_fault_of_the_reader(draft: Draft) -> None:
    """An item can't stand behind one that is not there."""
    with pytest.raises(ValueError, match="gap"):
        draft.put("/accounts/1/name", "keeper", FIRST)


def test_nothing_goes_inside_what_was_put_whole(draft: Draft) -> None:
    """An empty list says that there is nothing; an item would contradict it."""
    draft.put("/accounts", [], FIRST)
    with pytest.raises(ValueError, match="put whole"):
        draft.put("/accounts/0/name", "keeper", FIRST)


def test_lists_and_names_stay_within_what_a_record_holds(draft: Draft) -> None:
    """What a list has no room for is lost; names of unmapped settings are cut, counted once, and bounded."""
    assert not draft.put(f"/accounts/{DEFAULT.items}/name", "keeper", FIRST)
    for name in ("a", "a", "", "x" * 600, *map(str, range(DEFAULT.items))):
        draft.unmapped(name)
    unmapped = draft.done("a").unmapped
    assert unmapped[:2] == ("a", "x" * (LONGEST_NAME - 1) + "…")
    assert len(unmapped) < DEFAULT.items + 1


def test_what_is_there_can_be_asked(draft: Draft) -> None:
    """A place is there if it, or something below it, was put."""
    draft.put("/snmp/port", 161, FIRST)
    assert draft.has("/snmp")
    assert draft.has("/snmp/port")
    assert not draft.has("/snmp/enabled")
    assert not draft.has("/snmp/port/0")
