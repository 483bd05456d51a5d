"""Facts on local accounts."""

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import accounts
from auditor.facts.fact import Context, Settings
from tests.facts.less_known import thinned

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC), frozenset({"password"}))
HASHED = {"crypt": "$6$saltsalt$aaaa"}


def account(**settings: Any) -> Settings:
    """Return an account with these settings."""
    return {"name": "r.osei", **settings}


def with_passwords(*secrets: Settings | None) -> Settings:
    """Return a record whose accounts a, b, c… have these passwords; None leaves one out."""
    names = "abcdefgh"
    made = [
        {"name": name, **({} if secret is None else {"password": secret})}
        for name, secret in zip(names, secrets, strict=False)
    ]
    return {"card": {"id": "c"}, "accounts": made}


@pytest.mark.parametrize(
    ("secret", "empty", "known", "guessable", "length"),
    [
        ({"empty": True}, True, False, True, 0),
        ({"clear": "Password"}, False, True, True, 8),
        ({"clear": "basalt-Ferry"}, False, False, False, 12),
        (HASHED, None, None, None, None),
    ],
)
def test_password_facts_say_what_the_secret_shows(
    secret: Settings, empty: bool | None, known: bool | None, guessable: bool | None, length: int | None
) -> None:
    """Each fact tells its part, and none tells more than the form of the secret shows."""
    given_to = account(password=secret), {"card": {"id": "c"}}, CONTEXT
    assert accounts.password_is_empty(*given_to) is empty
    assert accounts.password_is_well_known(*given_to) is known
    assert accounts.password_is_guessable(*given_to) is guessable
    assert accounts.password_length(*given_to) == length


@pytest.mark.parametrize(
    ("changed", "installed", "since"),
    [
        ("2024-03-10", "2024-03-11", False),
        ("2024-03-11", "2024-03-11", True),
        ("2026-03-02", "2024-03-11", True),
        (None, "2024-03-11", None),
        ("2026-03-02", None, None),
    ],
)
def test_a_change_on_the_first_day_counts(
    changed: str | None, installed: str | None, since: bool | None
) -> None:
    """A password set on the day the card went into service was changed; an earlier one was not."""
    member = account() if changed is None else account(password_changed_on=changed)
    card = {"id": "c"} if installed is None else {"id": "c", "installed_on": installed}
    assert accounts.password_changed_since_installation(member, {"card": card}, CONTEXT) is since


def test_password_age_counts_days_to_the_audit() -> None:
    """268 days lie between 2 March and 25 November 2026."""
    changed = {"name": "r.osei", "password_changed_on": "2026-03-02"}
    assert accounts.password_age_days(changed, {}, CONTEXT) == 268
    assert accounts.password_age_days(account(), {}, CONTEXT) is None


@pytest.mark.parametrize(
    ("owner", "placeholder"),
    [
        ("R. Osei", False),
        ("power team", False),
        ("N/A", True),
        (" - ", True),
        ("R.OSEI", True),
        ("   ", True),
        (None, None),
    ],
)
def test_an_owner_that_names_nobody_is_a_placeholder(owner: str | None, placeholder: bool | None) -> None:
    """Fill-ins, blanks and the account's own name are no owner; an absent owner is unknown."""
    member = account() if owner is None else account(owner=owner)
    assert accounts.owner_is_placeholder(member, {}, CONTEXT) is placeholder


@pytest.mark.parametrize(("name", "generic"), [("Admin", True), ("operator", True), ("k.lind", False)])
def test_names_of_tasks_are_generic(name: str, generic: bool) -> None:
    """A name that stands for a task is generic, whatever its case; common practice, no source."""
    assert accounts.name_is_generic({"name": name}, {}, CONTEXT) is generic


@pytest.mark.parametrize(
    ("members", "count"),
    [
        ([], 0),
        ([{"role": "administrator", "enabled": True}] * 3, 3),
        ([{"role": "administrator", "enabled": False}, {"role": "viewer", "enabled": True}], 0),
        ([{"role": "administrator"}], None),
        ([{"enabled": True}], None),
        ([{"role": "viewer"}, {"enabled": False}], 0),
    ],
)
def test_administrators_are_counted_only_when_all_is_known(
    members: list[Settings], count: int | None
) -> None:
    """An account that may be an administrator leaves the number unknown."""
    assert accounts.administrator_count({"accounts": members}, CONTEXT) == count


@pytest.mark.parametrize(
    ("secrets", "named"),
    [
        ([{"clear": "x"}, {"clear": "y"}, {"clear": "x"}], ("a", "c")),
        ([{"clear": "x"}, {"crypt": "$0$x"}], ("a", "b")),
        ([HASHED, HASHED, None], ("a", "b")),
        ([{"sealed": {"tag": "00ff00ff00ff00ff"}}] * 2, ("a", "b")),
        ([{"clear": "x"}, {"clear": "y"}, {"empty": True}, {"empty": True}], ()),
        ([{"sealed": {"tag": "00ff00ff00ff00ff"}}, {"sealed": {"tag": "11ff00ff00ff00ff"}}], ()),
        ([HASHED, {"crypt": "$6$other$bbbb"}], None),
        ([HASHED, {"clear": "x"}], None),
        ([{"clear": "x"}, None], None),
        ([HASHED], ()),
        ([None], ()),
        ([], ()),
    ],
)
def test_accounts_with_the_same_password_are_named(
    secrets: list[Settings | None], named: tuple[str, ...] | None
) -> None:
    """Equal secrets are found in every form; what can't be compared leaves it unknown."""
    assert accounts.accounts_sharing_passwords(with_passwords(*secrets), CONTEXT) == named


SECRETS = st.sampled_from([{"clear": "x"}, {"clear": "y"}, {"empty": True}, HASHED, {"crypt": "$0$y"}, None])


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Settings, Settings]:
    """Draw a record and the same record with less known of its accounts."""
    whole = with_passwords(*draw(st.lists(SECRETS, max_size=6)))
    less = [{**thinned(member, draw), "name": member["name"]} for member in whole["accounts"]]
    return whole, {**whole, "accounts": less}


@given(pairs())
def test_less_knowledge_never_turns_the_answer(pair: tuple[Settings, Settings]) -> None:
    """Leaving settings out makes the answer unknown, or leaves it: some, or none."""
    known, fewer = (accounts.accounts_sharing_passwords(record, CONTEXT) for record in pair)
    assert fewer is None or known is None or bool(fewer) is bool(known)


def test_many_accounts_are_compared_in_one_walk() -> None:
    """Ten thousand hashes, the most that a record may hold, are answered and not compared in pairs."""
    secrets = [{"crypt": f"$6$s{number}$h"} for number in range(10_000)]
    record = {"accounts": [{"name": "a", "password": secret} for secret in secrets]}
    assert accounts.accounts_sharing_passwords(record, CONTEXT) is None
    assert accounts.accounts_sharing_passwords({}, CONTEXT) is None
