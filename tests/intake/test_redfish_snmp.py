"""The SNMP agent and its users in a Redfish capture: what is known, and what a service hides."""

from pathlib import Path
from typing import Any

import pytest

from tests.intake.redfish_service import account, flat, imported, losses, protocols


def community(folder: Path, hide: bool | None, **body: Any) -> dict[str, Any]:
    """Return the settings of one community."""
    snmp: dict[str, Any] = {"CommunityStrings": [body]}
    if hide is not None:
        snmp["HideCommunityStrings"] = hide
    found = flat(imported(folder, protocols(SNMP=snmp)))
    return {at.removeprefix("/snmp/communities/0/"): value for at, value in found.items()}


def test_a_hidden_community_is_unknown_not_empty(tmp_path: Path) -> None:
    """Null says nothing of the string, whatever else is told.

    Source: DSP0268, ManagerNetworkProtocol, CommunityString.
    """
    assert community(tmp_path, hide=True, CommunityString=None, AccessMode="Full") == {"access": "write"}


def test_a_community_that_is_not_hidden_is_a_clear_secret(tmp_path: Path) -> None:
    """What the service reveals is taken as the secret that it is."""
    found = community(tmp_path, hide=False, CommunityString="tide-41-Gate", AccessMode="Limited")
    assert found == {"access": "read", "community": {"clear": "tide-41-Gate"}}


@pytest.mark.parametrize("hide", [True, None])
def test_an_empty_community_that_may_be_hidden_is_unknown(tmp_path: Path, hide: bool | None) -> None:
    """An empty text stands for a hidden string as often as for none."""
    assert "community" not in community(tmp_path, hide=hide, CommunityString="", AccessMode="Full")


def test_an_empty_community_is_empty_where_nothing_is_hidden(tmp_path: Path) -> None:
    """The service says that it hides none, so the empty text is the string."""
    assert community(tmp_path, hide=False, CommunityString="") == {"community": {"empty": True}}


def test_a_masked_community_is_lost(tmp_path: Path) -> None:
    """Asterisks are no secret of eight characters."""
    card = imported(tmp_path, protocols(SNMP={"CommunityStrings": [{"CommunityString": "********"}]}))
    assert flat(card) == {}
    assert losses(card) == {"/SNMP/CommunityStrings/0/CommunityString"}


def test_a_restricted_community_has_the_prefixes_of_its_range(tmp_path: Path) -> None:
    """A range that is no prefix becomes the prefixes that cover it, ends included."""
    found = community(
        tmp_path, hide=None, RestrictCommunityToIPv4AddressRange=True,
        IPv4AddressRangeLower="192.0.2.14", IPv4AddressRangeUpper="192.0.2.17",
    )  # fmt: skip
    assert found == {"allowed_sources": {"prefixes": ["192.0.2.14/31", "192.0.2.16/31"]}}


@pytest.mark.parametrize("upper", [None, "192.0.2.1", "host.example.net", "2001:db8::1"])
def test_a_restricted_community_without_a_range_is_unknown(tmp_path: Path, upper: str | None) -> None:
    """Restricted to nobody knows what is neither open nor closed."""
    found = community(
        tmp_path, hide=None, RestrictCommunityToIPv4AddressRange=True,
        IPv4AddressRangeLower="192.0.2.14", IPv4AddressRangeUpper=upper,
    )  # fmt: skip
    assert found == {}


@pytest.mark.parametrize(
    ("told", "expected"),
    [
        ({"EnableSNMPv1": False, "EnableSNMPv2c": False, "EnableSNMPv3": True}, ["v3"]),
        ({"EnableSNMPv1": False, "EnableSNMPv2c": False, "EnableSNMPv3": False}, []),
        ({"EnableSNMPv1": True, "EnableSNMPv3": True}, None),
        ({"EnableSNMPv1": None, "EnableSNMPv2c": True, "EnableSNMPv3": True}, None),
    ],
)
def test_versions_are_told_only_as_a_whole(
    tmp_path: Path, told: dict[str, Any], expected: list[str] | None
) -> None:
    """A list without a version says that it is not answered, which nobody said."""
    card = imported(tmp_path, protocols(SNMP=told))
    assert flat(card).get("/snmp/versions") == expected
    assert losses(card) == (set() if expected is not None else {"/SNMP"})


def test_the_engine_id_of_rfc_3411_is_joined_from_its_parts(tmp_path: Path) -> None:
    """Either method follows the enterprise's part as it stands; that part holds the first bit.

    Source: RFC 3411 section 5, SnmpEngineID; enterprise 32473 is for documents (RFC 5612).
    """
    for rest in ({"ArchitectureId": "01 C0 00 02 07"}, {"EnterpriseSpecificMethod": "01C0000207"}):
        engine = {"PrivateEnterpriseId": "80 00 7E D9", **rest}
        card = imported(tmp_path, protocols(SNMP={"EngineId": engine}))
        assert flat(card)["/snmp/engine_id"] == "80:00:7e:d9:01:c0:00:02:07"


def test_an_engine_id_that_is_not_hexadecimal_is_lost(tmp_path: Path) -> None:
    """A text in the place of octets is not guessed at."""
    engine = {"PrivateEnterpriseId": "8000", "ArchitectureId": "card-7"}
    assert losses(imported(tmp_path, protocols(SNMP={"EngineId": engine}))) == {"/SNMP/EngineId"}


def test_an_account_that_is_only_for_snmp_opens_no_session(tmp_path: Path) -> None:
    """Such an account is a user of SNMP, and no account of the card."""
    found = flat(imported(tmp_path, account(1, UserName="poll", AccountTypes=["SNMP"], SNMP={})))
    assert found == {"/snmp/users/0/name": "poll"}


def test_protocols_of_the_agent_stand_in_for_those_an_account_lacks(tmp_path: Path) -> None:
    """The agent's protocols count for every account, unless it says Account.

    Source: DSP0268, ManagerNetworkProtocol, SNMP AuthenticationProtocol.
    """
    user = account(1, UserName="poll", AccountTypes=["SNMP"])
    for common, expected in (("HMAC192_SHA256", "sha256"), ("Account", None)):
        agent = protocols(SNMP={"AuthenticationProtocol": common, "EncryptionProtocol": "CFB128_AES128"})
        found = flat(imported(tmp_path, agent, user))
        assert found.get("/snmp/users/0/auth_protocol") == expected
        assert found.get("/snmp/users/0/priv_protocol") == (expected and "aes128")


def test_keys_that_a_service_reveals_against_the_rule_are_the_secrets_they_are(tmp_path: Path) -> None:
    """Passphrase: and Hex: are no part of the key.

    Source: DSP0268, ManagerAccount, SNMP AuthenticationKey.
    """
    snmp = {"AuthenticationKey": "Passphrase:ebb-Tide-9", "EncryptionKey": f"Hex:{'0f' * 16}"}
    found = flat(imported(tmp_path, account(1, UserName="u", AccountTypes=["SNMP"], SNMP=snmp)))
    assert found["/snmp/users/0/auth_secret"] == {"clear": "ebb-Tide-9"}
    assert found["/snmp/users/0/priv_secret"] == {"localized": "0f" * 16}
