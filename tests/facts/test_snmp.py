"""Facts on SNMP: what secrets give away, the source list, and one community for two purposes."""

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import snmp
from auditor.facts.fact import Context, Settings
from tests.facts.less_known import thinned

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC), frozenset({"public", "password"}))
# Localized SHA-1 key of "maplesyrup" for the engine 00 .. 02: RFC 3414 A.3.2; its AES key is the
# head of it, as in the instance of RFC 7407 A.3.
SHA_KEY = "6695febc9288e36282235fc7151f128497b38f3f"
AES_KEY = "6695FEBC9288E36282235FC7151F1284"


def row(access: str | None, text: str | None, *, enabled: bool | None = True) -> Settings:
    """Return a community row without the members that are None."""
    secret = None if text is None else {"clear": text}
    members = {"access": access, "community": secret, "enabled": enabled}
    return {name: value for name, value in members.items() if value is not None}


def shared(*rows: Settings) -> Any:
    """Return whether some community of these rows both reads and writes."""
    return snmp.reading_community_can_write({"snmp": {"communities": list(rows)}}, CONTEXT)


@pytest.mark.parametrize(
    ("secret", "empty", "known", "length"),
    [
        ({"clear": "Public"}, False, True, 6),
        ({"clear": "drift-Walnut-83"}, False, False, 15),
        ({"empty": True}, True, False, 0),
        ({"sealed": {"length": 9, "listed": "well_known"}}, False, True, 9),
        (None, None, None, None),
    ],
)
def test_a_community_gives_away_only_what_its_form_shows(
    secret: Settings | None,
    empty: bool | None,
    known: bool | None,
    length: int | None,
) -> None:
    """Empty, well known, length: each unknown where the secret was not captured."""
    member = {} if secret is None else {"community": secret}
    assert snmp.community_is_empty(member, {}, CONTEXT) is empty
    assert snmp.community_is_well_known(member, {}, CONTEXT) is known
    assert snmp.community_length(member, {}, CONTEXT) == length


@pytest.mark.parametrize(
    ("sources", "anybody"),
    [
        ({"any": True}, True),
        ({"prefixes": ["192.0.2.0/24"]}, False),
        ({"prefixes": ["192.0.2.0/24", "0.0.0.0/0"]}, True),
        ({"prefixes": ["::/0"]}, True),
        ({"prefixes": ["10.0.0.0/10", "2001:db8::/100"]}, False),
        ({"prefixes": []}, False),
    ],
)
def test_any_source_may_be_said_or_written_as_a_prefix_of_length_0(
    sources: Settings,
    anybody: bool,
) -> None:
    """An empty list allows nobody; a prefix of length 0 allows everybody."""
    assert snmp.community_accepts_any_source({"allowed_sources": sources}, {}, CONTEXT) is anybody


def test_sources_that_were_not_captured_are_unknown() -> None:
    """Absent is neither anybody nor nobody."""
    assert snmp.community_accepts_any_source({}, {}, CONTEXT) is None


def test_one_community_in_a_reading_and_a_writing_row_is_found() -> None:
    """Two rows, one text; a third row that is not known does not matter any more."""
    assert shared(row("read", "a"), row("write", "a")) is True
    assert shared(row("read", "a"), row(None, None), row("write", "a")) is True


def test_rows_that_are_off_or_give_nothing_do_not_count() -> None:
    """Only what is answered can be used."""
    assert shared(row("read", "a"), row("write", "a", enabled=False)) is False
    assert shared(row("none", "a"), row("write", "a")) is False


def test_different_communities_are_told_apart_only_in_the_same_form() -> None:
    """Two clear texts can be compared; a sealed one without a tag can't."""
    assert shared(row("read", "a"), row("write", "b")) is False
    sealed = {"access": "write", "enabled": True, "community": {"sealed": {"length": 1}}}
    assert shared(row("read", "a"), sealed) is None


def test_an_unknown_row_leaves_the_question_open() -> None:
    """The row might write, might be on, might be the same."""
    assert shared(row("read", "a"), row(None, "a")) is None
    assert shared(row("read", "a"), row("write", "a", enabled=None)) is None
    assert shared(row("read", "a"), row("write", None)) is None
    assert snmp.reading_community_can_write({}, CONTEXT) is None


def test_a_single_row_is_never_two() -> None:
    """What one row does is judged by other rules, however little is known of it."""
    assert shared(row(None, None)) is False
    assert shared() is False


def test_many_rows_are_compared_in_one_pass() -> None:
    """Ten thousand rows, the schema's limit, take no pairwise comparison."""
    rows = [row("read", f"r{n}") for n in range(5000)] + [row("write", f"w{n}") for n in range(5000)]
    assert shared(*rows) is False
    assert shared(*rows, row("write", "r77")) is True


@pytest.mark.parametrize("name", ["auth", "privacy"])
def test_passphrases_are_judged_each_by_itself(name: str) -> None:
    """Empty, well known, length: of the one passphrase, whatever the other is."""
    key, other = ("auth_secret", "priv_secret") if name == "auth" else ("priv_secret", "auth_secret")
    user = {key: {"clear": "Password"}, other: {"empty": True}}
    assert getattr(snmp, f"snmp_{name}_passphrase_is_empty")(user, {}, CONTEXT) is False
    assert getattr(snmp, f"snmp_{name}_passphrase_is_well_known")(user, {}, CONTEXT) is True
    assert getattr(snmp, f"snmp_{name}_passphrase_length")(user, {}, CONTEXT) == 8


@pytest.mark.parametrize(
    ("auth", "priv", "same"),
    [
        ({"clear": "one"}, {"clear": "one"}, True),
        ({"clear": "one"}, {"clear": "One"}, False),
        ({"localized": SHA_KEY}, {"localized": AES_KEY}, True),
        ({"localized": SHA_KEY}, {"localized": "00" + AES_KEY[2:]}, False),
        ({"clear": "one"}, {"localized": AES_KEY}, None),
        ({"sealed": {"tag": "0123456789abcdef"}}, {"sealed": {"tag": "0123456789abcdef"}}, True),
    ],
)
def test_one_passphrase_for_both_is_found(
    auth: Settings,
    priv: Settings,
    same: bool | None,
) -> None:
    """RFC 3414 A.3.2 and RFC 7407 A.3: the localized keys of one passphrase begin alike."""
    assert snmp.snmp_user_has_one_passphrase({"auth_secret": auth, "priv_secret": priv}, {}, CONTEXT) is same


ROWS = st.builds(
    row,
    st.sampled_from(["none", "read", "write"]),
    st.sampled_from(["a", "b", "c"]),
    enabled=st.booleans(),
)


@given(st.lists(ROWS, max_size=4), st.data())
def test_more_knowledge_never_turns_the_answer_on_communities(
    rows: list[Settings], data: st.DataObject
) -> None:
    """What is decided with less known stays so with all known."""
    less = data.draw(st.composite(lambda draw: thinned(rows, draw))())
    known = shared(*less)
    assert known is None or known is shared(*rows)
