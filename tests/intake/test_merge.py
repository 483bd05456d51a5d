"""Several sources of one card: what stands, and what is told of their contradictions."""

from itertools import pairwise
from typing import Any

import pytest

from auditor.intake.imported import Imported, Origin
from auditor.intake.merge import PRECEDENCE, Merged, merge, merge_by_card


def told(file: str, method: str, settings: dict[str, Any], card_id: str = "a", **more: Any) -> Imported:
    """Return what a source says, each leaf with its origin."""
    return Imported(card_id, settings, file, method, dict(_origins(file, settings, "")), **more)


def _origins(file: str, value: Any, pointer: str) -> list[tuple[str, Origin]]:
    if isinstance(value, dict):
        return [pair for key, inner in value.items() for pair in _origins(file, inner, f"{pointer}/{key}")]
    if isinstance(value, list):
        return [pair for key, inner in enumerate(value) for pair in _origins(file, inner, f"{pointer}/{key}")]
    return [(pointer, Origin(file, 3, pointer))]


def differences(merged: Merged) -> list[tuple[str, str, str]]:
    """Return place, kept file and other file of each contradiction."""
    return [(c.pointer, c.kept.file, c.other.file) for c in merged.contradictions]


def test_sources_that_agree_add_up() -> None:
    """What only one source knows is taken, what both know is kept, and nothing is contradicted."""
    one = told("a.xml", "netconf", {"snmp": {"enabled": True, "port": 161}})
    two = told("a.csv", "sheet", {"snmp": {"port": 161}, "card": {"site": "North"}})
    merged = merge([two, one])
    assert merged.settings == {"snmp": {"enabled": True, "port": 161}, "card": {"site": "North"}}
    assert merged.sources == ("a.xml", "a.csv")
    assert merged.contradictions == ()


@pytest.mark.parametrize(("stronger", "weaker"), list(pairwise(PRECEDENCE)))
def test_precedence_is_by_the_way_of_capture(stronger: str, weaker: str) -> None:
    """The more trusted source stands, whichever was named first, and both are named."""
    strong = told("strong", stronger, {"snmp": {"port": 161}})
    weak = told("weak", weaker, {"snmp": {"port": 1161}})
    for order in ([strong, weak], [weak, strong]):
        merged = merge(order)
        assert merged.settings == {"snmp": {"port": 161}}
        assert differences(merged) == [("/snmp/port", "strong", "weak")]


def test_among_equals_the_first_stands() -> None:
    """Two exports: the one named first is kept."""
    merged = merge(
        [
            told("1", "export", {"log": {"capacity_events": 1}}),
            told("2", "export", {"log": {"capacity_events": 2}}),
        ]
    )
    assert merged.settings == {"log": {"capacity_events": 1}}


def test_members_of_lists_are_joined_by_name() -> None:
    """The same account in two sources is one account, with what each knows of it."""
    one = told("a", "export", {"accounts": [{"name": "x", "enabled": True}, {"name": "y"}]})
    two = told("b", "sheet", {"accounts": [{"name": "y", "role": "viewer"}, {"name": "x"}]})
    merged = merge([one, two])
    assert merged.settings["accounts"] == [{"name": "x", "enabled": True}, {"name": "y", "role": "viewer"}]
    assert merged.contradictions == ()


def test_a_member_that_one_source_lacks_is_kept_and_told() -> None:
    """An account that only the sheet knows stays, and both sources are named."""
    one = told("a", "export", {"accounts": [{"name": "x"}]})
    two = told("b", "sheet", {"accounts": [{"name": "z", "enabled": True}]})
    merged = merge([one, two])
    assert [account["name"] for account in merged.settings["accounts"]] == ["x", "z"]
    assert [(c.pointer, c.other.file) for c in merged.contradictions] == [("/accounts/1", "b")]


def test_secrets_are_compared_but_never_told() -> None:
    """Two different passwords are a contradiction whose words hold neither."""
    one = told("a", "export", {"accounts": [{"name": "x", "password": {"clear": "FIRST-MARKER"}}]})
    two = told("b", "sheet", {"accounts": [{"name": "x", "password": {"clear": "SECOND-MARKER"}}]})
    merged = merge([one, two])
    assert merged.contradictions[0].pointer == "/accounts/0/password"
    assert "MARKER" not in repr(merged.contradictions)


def test_secrets_in_two_forms_can_not_be_compared() -> None:
    """A hash beside a clear password is said to be told in two forms."""
    one = told("a", "netconf", {"accounts": [{"name": "x", "password": {"crypt": "$6$s$h"}}]})
    two = told("b", "sheet", {"accounts": [{"name": "x", "password": {"clear": "p"}}]})
    assert merge([one, two]).contradictions[0].problem == "told in two forms that can't be compared"


def test_a_capture_that_is_left_out_is_told() -> None:
    """A record tells one capture, the most trusted source's: of the others it is said what is left out."""
    one = told("a", "netconf", {"capture": {"method": "netconf", "taken_by": "N. Adeyemi"}})
    capture = {"method": "sheet", "taken_by": "N. Adeyemi", "taken_at": "2026-11-25T12:00:00Z"}
    two = told("b", "sheet", {"capture": capture})
    merged = merge([two, one])
    assert merged.settings["capture"] == {"method": "netconf", "taken_by": "N. Adeyemi"}
    assert differences(merged) == [("/capture", "a", "b")]
    assert merged.contradictions[0].problem == (
        "a record tells one capture; left out of the other: method, taken_at"
    )


def test_captures_that_differ_in_their_files_alone_are_not_told() -> None:
    """Every source is another file, so its digest says nothing; nor do captures that agree."""
    one = told("a", "sheet", {"capture": {"method": "sheet", "source_digest": "sha256:" + "0" * 64}})
    two = told("b", "sheet", {"capture": {"method": "sheet", "source_digest": "sha256:" + "1" * 64}})
    assert merge([one, two]).contradictions == ()


def test_a_third_source_is_held_against_what_stands() -> None:
    """The origin of the kept value is the source that told it, not the first one."""
    one = told("a", "netconf", {"snmp": {"port": 161}})
    two = told("b", "console", {"log": {"capacity_events": 5}})
    three = told("c", "sheet", {"log": {"capacity_events": 6}})
    assert differences(merge([one, two, three])) == [("/log/capacity_events", "b", "c")]


def test_cards_are_kept_apart() -> None:
    """Sources are merged by card id, in the order of the ids."""
    merged = merge_by_card(
        [told("1", "sheet", {}, "b"), told("2", "sheet", {}, "a"), told("3", "export", {}, "b")]
    )
    assert [(one.card_id, one.sources) for one in merged] == [("b", ("3", "1")), ("a", ("2",))]
