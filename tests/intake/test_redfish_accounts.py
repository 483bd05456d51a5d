"""Accounts, roles and the rules of logging in, in a Redfish capture."""

from pathlib import Path
from typing import Any

import pytest

from tests.intake.redfish_service import (
    ACCOUNTS,
    SERVICE,
    account,
    flat,
    imported,
    losses,
    protocols,
    resource,
)


@pytest.mark.parametrize(
    ("body", "expected"),
    [
        ({"AccountLockoutThreshold": 0, "AccountLockoutDuration": 60}, {"enabled": False}),
        ({"AccountLockoutThreshold": 5, "AccountLockoutDuration": 0}, {"enabled": False}),
        (
            {"AccountLockoutThreshold": 5, "AccountLockoutDuration": 60},
            {"enabled": True, "attempts": 5, "duration_s": 60},
        ),
        (
            {
                "AccountLockoutThreshold": 5,
                "AccountLockoutDuration": 60,
                "AccountLockoutCounterResetEnabled": False,
            },
            {"enabled": True, "attempts": 5, "duration_s": 0},
        ),
        ({"AccountLockoutThreshold": 5}, {"enabled": True, "attempts": 5}),
        ({"AccountLockoutDuration": 60}, {}),
        ({"AccountLockoutThreshold": None}, {}),
    ],
)
def test_the_lockout_is_read_as_the_standard_defines_it(
    tmp_path: Path, body: dict[str, Any], expected: dict[str, Any]
) -> None:
    """Zero attempts or zero seconds never lock; a counter without a reset locks for good.

    Source: DSP0268, AccountService, AccountLockout properties.
    """
    found = flat(imported(tmp_path, resource(ACCOUNTS, "AccountService", **body)))
    base = "/access_policy/lockout/"
    assert {at.removeprefix(base): found[at] for at in found if at.startswith(base)} == expected


def test_passwords_without_an_end_are_told_from_a_policy_nobody_told(tmp_path: Path) -> None:
    """Null days are never; no such property is unknown.

    Source: DSP0268, AccountService, PasswordExpirationDays.
    """
    at = "/access_policy/password/maximum_age_days"
    assert (
        flat(imported(tmp_path, resource(ACCOUNTS, "AccountService", PasswordExpirationDays=None)))[at] == 0
    )
    assert at not in flat(imported(tmp_path, resource(ACCOUNTS, "AccountService", MinPasswordLength=1)))


def test_a_role_of_the_sites_own_is_known_by_its_privileges(tmp_path: Path) -> None:
    """What a role may do counts, not what it is called; a role nobody explains is lost."""
    roles = {
        "Chief": ["Login", "ConfigureUsers"],
        "Administrator": ["Login"],
        "Hand": ["Login", "ConfigureComponents"],
    }
    card = imported(
        tmp_path,
        *(
            resource(f"{ACCOUNTS}/Roles/{name}", "Role", AssignedPrivileges=may)
            for name, may in roles.items()
        ),
        *(account(n, UserName=f"u{n}", RoleId=name) for n, name in enumerate([*roles, "ReadOnly", "Odd"])),
    )
    found = flat(card)
    assert [found.get(f"/accounts/{n}/role") for n in range(5)] == [
        "administrator", "viewer", "operator", "viewer", None,
    ]  # fmt: skip
    assert losses(card) == {"/RoleId"}


def test_accounts_of_another_service_are_not_the_cards(tmp_path: Path) -> None:
    """Only what stands in the account service's own collection can log in to it."""
    other = resource(
        f"{SERVICE}/Managers/other/RemoteAccountService/Accounts/1", "ManagerAccount", UserName="x"
    )
    found = flat(imported(tmp_path, protocols(HostName="card"), other, account(1, UserName="y")))
    assert {at: value for at, value in found.items() if at.startswith("/accounts")} == {
        "/accounts/0/name": "y"
    }
