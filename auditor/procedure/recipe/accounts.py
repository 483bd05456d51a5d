"""Recipes for accounts: new ones, passwords of their own, fewer administrators."""

from collections.abc import Iterator
from typing import Any

from auditor.facts.accounts import accounts_sharing_passwords
from auditor.procedure.bench import Bench
from auditor.procedure.edit import APPEND, Edit, EditKind
from auditor.procedure.new_secret import new_secret
from auditor.record.settings import Settings

NEW_ADMINISTRATOR = "new-administrator"
NEW_VIEWER = "new-viewer"
"""Names that stand in an after-image for accounts whose names the site gives."""

_ACCOUNTS = ("accounts",)
_LOCKOUT = ("access_policy", "lockout")
_ATTEMPTS = 5
_GUESSES = 1000
_QUARTER = 900
_SECONDS_A_DAY = 86400


def own_passwords(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Give each account that shares its password a new one."""
    shared = accounts_sharing_passwords.compute(record, bench.context)
    for at, account in enumerate(record.get("accounts", ())):
        if isinstance(shared, tuple) and account["name"] in shared:
            yield from _new_password((*_ACCOUNTS, str(at)), bench)


def fewer_administrators(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Make operators of the administrators beyond the site's number: a proposal, the site decides.

    Those kept are the emergency account, then people, then the rest, each in the record's order.
    """
    most = bench.value("administrators_maximum", 3)
    found = [
        (at, account)
        for at, account in enumerate(record.get("accounts", ()))
        if account.get("role") == "administrator" and account.get("enabled") is not False
    ]
    kept = sorted(found, key=lambda each: (_RANK.get(each[1].get("purpose", ""), 2), each[0]))
    for at, account in kept[most if isinstance(most, int) else 0 :]:
        note = f"Operator, if the site agrees that {account['name']} is not to stay an administrator"
        yield Edit((*_ACCOUNTS, str(at), "role"), "operator", note=note)


_RANK = {"emergency": 0, "person": 1}


def viewer_account(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Add an account that may look and no more."""
    yield from _added(record, NEW_VIEWER, "viewer", "monitoring", bench)


def new_administrator(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Add an administrator's account, so that another one can go; one that waits already will do."""
    yield from _added(record, NEW_ADMINISTRATOR, "administrator", _purpose(record), bench)


def _purpose(record: Settings) -> str:
    """Return ``emergency`` where no other local account may log in beside a directory."""
    fallback = record.get("directory", {}).get("local_fallback", {})
    return "emergency" if fallback.get("accounts") == "emergency" else "person"


def _added(record: Settings, name: str, role: str, purpose: str, bench: Bench) -> Iterator[Edit]:
    accounts = record.get("accounts")
    if accounts is None or any(account["name"] == name for account in accounts):
        return
    tokens = (*_ACCOUNTS, str(len(accounts)))
    password = new_secret(bench.card_id, (*tokens, "password"), 0)
    account: dict[str, Any] = {
        "name": name,
        "role": role,
        "enabled": True,
        "is_factory": False,
        "is_shared": False,
        "owner": "whoever the site names at the visit",
        "purpose": purpose,
        "password": password.value,
        "password_is_factory": False,
        "password_changed_on": bench.context.as_of.date().isoformat(),
    }
    if bench.value("second_factor_required", usual=False):
        account["second_factor"] = True
    note = f"A new {role}, named by the site, for one owner. Its password: {password.note}"
    yield Edit((*_ACCOUNTS, APPEND), account, EditKind.ON_PROOF, note)


def lockout(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Lock after five attempts or fewer, and so long that no more guesses a day are left than allowed."""
    most = int(str(bench.value("lockout_attempts_maximum", _ATTEMPTS)))
    guesses = int(str(bench.value("guesses_per_day_maximum", _GUESSES)))
    attempts = min(_ATTEMPTS, most)
    shortest = -(-attempts * _SECONDS_A_DAY // guesses)
    lock = record.get("access_policy", {}).get("lockout", {})
    yield Edit((*_LOCKOUT, "attempts"), min(lock.get("attempts", attempts), attempts))
    yield Edit((*_LOCKOUT, "duration_s"), max(-(-shortest // _QUARTER) * _QUARTER, _QUARTER))


def _new_password(account: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    least = bench.value("password_characters_minimum", 0)
    yield new_secret(bench.card_id, (*account, "password"), least if isinstance(least, int) else 0)
    yield Edit((*account, "password_is_factory"), value=False)
    yield Edit((*account, "password_changed_on"), bench.context.as_of.date().isoformat())
