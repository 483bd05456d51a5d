"""What moved between two states, in plain words: members by name, no value that may not be shown."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.change.compare import HIDDEN, Kind, Move, moves
from auditor.record.outline import ANY, outline
from auditor.record.pointer import split
from tests.change.states import COMPLIANT, edited, record
from tests.report.sample import SECRET, good_card, poor_card


def compare(before: dict[str, Any], after: dict[str, Any]) -> tuple[Move, ...]:
    """Compare two states of a card."""
    return moves(record(before).settings, record(after).settings)


def one(before: dict[str, Any], after: dict[str, Any]) -> tuple[str, str, str, str]:
    """Return pointer, title and both values of the one move there is."""
    (move,) = compare(before, after)
    return move.pointer, move.title, move.before, move.after


@pytest.mark.parametrize("card", [good_card(), poor_card(), COMPLIANT], ids=["good", "poor", "whole"])
def test_a_state_does_not_differ_from_itself(card: dict[str, Any]) -> None:
    """Nothing moved where nothing did, secrets included."""
    assert compare(card, card) == ()


def test_a_setting_is_told_by_its_titles_with_old_and_new_value() -> None:
    """The words are those of the schema."""
    after = edited(good_card(), lambda card: card["services"]["telnet"].update(enabled=True))
    assert one(good_card(), after) == (
        "/services/telnet/enabled",
        "Services: Telnet: Enabled",
        "false",
        "true",
    )


def test_what_is_no_longer_captured_says_so() -> None:
    """Absent is not false."""
    after = edited(good_card(), lambda card: card["access_policy"].pop("session_timeout_s"))
    (move,) = compare(good_card(), after)
    assert (move.kind, move.before, move.after) == (Kind.REMOVED, "600", "not captured")


def test_members_are_known_by_name_and_not_by_place() -> None:
    """A list in another order did not change; a member that moved and changed is still itself."""
    turned = edited(poor_card(), lambda card: card["snmp"]["communities"].reverse())
    assert compare(poor_card(), turned) == ()
    after = edited(turned, lambda card: card["snmp"]["communities"][1].update(enabled=False))
    assert one(poor_card(), after) == (
        "/snmp/communities/1/enabled",
        "SNMP: Communities: control: Enabled",
        "true",
        "false",
    )


def test_a_member_that_comes_or_goes_is_one_move() -> None:
    """Its settings that may be shown stand in one text."""
    after = edited(good_card(), lambda card: card["accounts"].append({"name": "night", "enabled": True}))
    assert one(good_card(), after) == ("/accounts/1", "Accounts: night", "none", "name night, enabled true")
    (gone,) = compare(after, good_card())
    assert (gone.kind, gone.pointer, gone.after) == (Kind.REMOVED, "/accounts/1", "none")


def test_a_list_that_is_known_now_is_told_even_if_it_is_empty() -> None:
    """To know that there is none is more than not to know."""
    after = edited(good_card(), lambda card: card["time"].update(servers=[]))
    assert one(good_card(), after)[2:] == ("not captured", "none")


def test_a_list_that_is_no_longer_captured_has_not_lost_its_members() -> None:
    """Nobody knows whether they are there: they are not said to be none. Of an emptied list they are."""
    gone = edited(poor_card(), lambda card: card["snmp"].pop("communities"))
    assert {move.after for move in compare(poor_card(), gone)} == {"not captured"}
    assert {move.before for move in compare(gone, poor_card())} == {"not captured"}
    empty = edited(poor_card(), lambda card: card["snmp"].update(communities=[]))
    assert {move.after for move in compare(poor_card(), empty)} == {"none"}


def test_a_secret_is_told_by_its_form_alone() -> None:
    """Changed in clear, sealed, emptied: never what it was or is."""

    def put(secret: dict[str, Any]) -> dict[str, Any]:
        return edited(good_card(), lambda card: card["accounts"][0].update(password=secret))

    sealed = {
        "sealed": {"tag": "ab" * 32, "key": "0a1b2c3d4e5f6071", "length_at_least": 8, "length_at_most": 11}
    }
    cases = {
        "in clear, changed": put({"clear": "another-one"}),
        "sealed": put(sealed),
        "empty": put({"empty": True}),
        "kept as a hash": put({"crypt": "$6$saltsalt$" + "a" * 86}),
    }
    for words, after in cases.items():
        (move,) = compare(good_card(), after)
        assert (move.before, move.after) == ("in clear", words)
        assert SECRET not in repr(move)
        assert "another-one" not in repr(move)
    other = {"sealed": {**sealed["sealed"], "tag": "cd" * 32}}
    assert one(put(sealed), put(other))[2:] == ("sealed", "sealed, changed")
    elsewhere = {"sealed": {**other["sealed"], "key": "1a1b2c3d4e5f6071"}}
    assert one(put(sealed), put(elsewhere))[3] == "sealed with another key, can't be compared"


def test_a_value_that_may_not_be_shown_is_not() -> None:
    """Where the schema does not mark a setting as shown, only that it changed is told."""
    after = edited(good_card(), lambda card: card.update(site_notes="nothing that concerns anybody"))
    (move,) = compare(good_card(), after)
    assert "nothing that concerns anybody" not in repr(move)
    assert move.after == HIDDEN


def _by_alphabet(value: Any) -> Any:
    """Return a record whose members stand by the alphabet, as in a mark."""
    if isinstance(value, dict):
        return {name: _by_alphabet(value[name]) for name in sorted(value)}
    return [_by_alphabet(item) for item in value] if isinstance(value, list) else value


def test_moves_stand_in_the_order_of_the_schema_however_the_record_is_written() -> None:
    """In sections, in what they hold and in the members of lists."""
    after = edited(
        COMPLIANT,
        lambda card: card.update(
            services={},
            access_policy={},
            accounts=[*card["accounts"], {"role": "viewer", "enabled": True, "name": "night"}],
        ),
    )
    found = compare(_by_alphabet(COMPLIANT), _by_alphabet(after))
    places = [tuple(ANY if token.isdecimal() else token for token in split(move.pointer)) for move in found]
    known = [leaf.tokens for leaf in outline()]
    ranks = [next(n for n, each in enumerate(known) if each[: len(place)] == place) for place in places]
    assert ranks == sorted(ranks)
    assert len({place[0] for place in places}) == 3
    (night,) = (move for move in found if move.pointer.startswith("/accounts/"))
    assert night.after == "name night, role viewer, enabled true"


@given(st.sampled_from(sorted(set(COMPLIANT) - {"schema", "card"})))
def test_taking_a_section_out_and_putting_it_in_mirror_each_other(section: str) -> None:
    """What is removed one way is added the other way, with values exchanged."""
    without = edited(COMPLIANT, lambda card: card.pop(section))
    out, back = compare(COMPLIANT, without), compare(without, COMPLIANT)
    assert [(move.title, move.before) for move in out] == [(move.title, move.after) for move in back]
    assert {move.kind for move in out} == {Kind.REMOVED}
    assert {move.kind for move in back} == {Kind.ADDED}
