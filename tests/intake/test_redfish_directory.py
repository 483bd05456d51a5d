"""External account providers in a Redfish capture: which one counts, and what its addresses tell."""

from pathlib import Path
from typing import Any

import pytest

from tests.intake.redfish_service import ACCOUNTS, flat, imported, losses, resource


def directory(folder: Path, *more: dict[str, Any], **body: Any) -> Any:
    """Import an account service with external providers."""
    return imported(folder, resource(ACCOUNTS, "AccountService", **body), *more)


def test_the_directory_in_use_counts(tmp_path: Path) -> None:
    """Of two, the one that is on; a second one that is on too is lost, not merged."""
    on, off = {"ServiceEnabled": True, "ServiceAddresses": []}, {"ServiceEnabled": False}
    assert flat(directory(tmp_path, LDAP=off, ActiveDirectory=on))["/directory/ldap/enabled"] is True
    assert losses(directory(tmp_path, LDAP=on, ActiveDirectory=on)) == {"/ActiveDirectory"}
    assert flat(directory(tmp_path, LDAP=off, ActiveDirectory=off))["/directory/ldap/enabled"] is False


def test_an_additional_provider_that_speaks_ldap_counts(tmp_path: Path) -> None:
    """A provider of the collection is a directory too; one that speaks something else is not."""
    where = f"{ACCOUNTS}/ExternalAccountProviders"
    more = [
        resource(f"{where}/{name}", "ExternalAccountProvider", AccountProviderType=kind, ServiceEnabled=True)
        for name, kind in (("a", "RedfishService"), ("b", "LDAPService"))
    ]
    card = directory(tmp_path, *more)
    assert flat(card)["/directory/ldap/enabled"] is True
    assert card.origins["/directory/ldap/enabled"].file.endswith("/2.json")
    assert "ExternalAccountProvider/AccountProviderType" in card.unmapped


@pytest.mark.parametrize(
    ("addresses", "transport"),
    [
        (["ldaps://a.example.net", "LDAPS://b.example.net:636"], "ldaps"),
        (["ldaps://a.example.net", "ldap://b.example.net"], None),
        (["ldap://a.example.net"], None),
        (["a.example.net:636"], None),
    ],
)
def test_only_the_scheme_ldaps_tells_of_protection(
    tmp_path: Path, addresses: list[str], transport: str | None
) -> None:
    """A plain scheme may yet use StartTLS, and port 636 proves nothing."""
    card = directory(tmp_path, LDAP={"ServiceEnabled": True, "ServiceAddresses": addresses})
    assert flat(card).get("/directory/ldap/transport") == transport


@pytest.mark.parametrize(
    ("word", "when", "order"),
    [
        ("Enabled", "always", None),
        ("LocalFirst", "always", ["local", "ldap"]),
        ("Fallback", "directory_unreachable", ["ldap", "local"]),
        ("Disabled", "never", None),
        ("Sometimes", None, None),
    ],
)
def test_local_accounts_beside_a_directory(
    tmp_path: Path, word: str, when: str | None, order: list[str] | None
) -> None:
    """When local accounts count is as the standard's words define it.

    Source: DSP0268, AccountService, LocalAccountAuth.
    """
    found = flat(directory(tmp_path, LocalAccountAuth=word, LDAP={"ServiceEnabled": True}))
    assert found.get("/directory/local_fallback/when") == when
    assert found.get("/directory/order") == order
