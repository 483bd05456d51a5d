"""The SNMP part of ManagerNetworkProtocol, and SNMP users among the accounts → the SNMP agent.

Source: DMTF DSP0268, ManagerNetworkProtocol to v1_12, ManagerAccount to v1_10.
"""

import re
from collections.abc import Mapping, Sequence

from auditor.intake.redfish_address import range_prefixes
from auditor.intake.redfish_resource import Reader

AUTHENTICATION = {
    "None": "none",
    "HMAC_MD5": "md5",
    "HMAC_SHA96": "sha1",
    "HMAC128_SHA224": "sha224",
    "HMAC192_SHA256": "sha256",
    "HMAC256_SHA384": "sha384",
    "HMAC384_SHA512": "sha512",
}
ENCRYPTION = {
    "None": "none",
    "CBC_DES": "des",
    "CFB128_AES128": "aes128",
    "CFB128_AES192": "aes192",
    "CFB128_AES256": "aes256",
}
_FROM_ACCOUNT = "Account"
_VERSIONS = {"EnableSNMPv1": "v1", "EnableSNMPv2c": "v2c", "EnableSNMPv3": "v3"}
_ACCESS = {"Full": "write", "Limited": "read"}
_HEX = re.compile(r"(?:[0-9A-Fa-f]{2})+")


def read_snmp_agent(protocols: Reader) -> None:
    """Take what the agent answers to."""
    protocols.copy("/SNMP/ProtocolEnabled", "/snmp/enabled")
    protocols.copy("/SNMP/Port", "/snmp/port")
    _read_versions(protocols)
    _read_engine_id(protocols)
    for at in protocols.items("/SNMP/CommunityStrings"):
        _read_community(protocols, at)
    if protocols.value("/SNMP/CommunityStrings") == []:
        protocols.put("/snmp/communities", [], "/SNMP/CommunityStrings")
    protocols.skip("/SNMP/HideCommunityStrings")


def _read_versions(reader: Reader) -> None:
    """Take the versions only if all three are told: a shorter list would deny the others."""
    told = {version: reader.flag(f"/SNMP/{name}") for name, version in _VERSIONS.items()}
    if None not in told.values():
        reader.put("/snmp/versions", [version for version, on in told.items() if on], "/SNMP")
    elif any(on is not None for on in told.values()):
        reader.lose("/SNMP", "not every version of SNMP is told to be on or off")


def _read_engine_id(reader: Reader) -> None:
    """Take the engine id: the enterprise's part, then that of its own method or of RFC 3411."""
    at = "/SNMP/EngineId"
    first = reader.text(f"{at}/PrivateEnterpriseId")
    rest = reader.text(f"{at}/EnterpriseSpecificMethod") or reader.text(f"{at}/ArchitectureId")
    if not first or not rest:
        return
    digits = re.sub(r"[ :-]", "", first + rest).lower()
    if _HEX.fullmatch(digits):
        octets = ":".join(digits[index : index + 2] for index in range(0, len(digits), 2))
        reader.put("/snmp/engine_id", octets, at)
    else:
        reader.lose(at, "expected octets in hexadecimal")


def _read_community(reader: Reader, at: str) -> None:
    base = reader.draft.next_item("/snmp/communities")
    reader.copy(f"{at}/Name", f"{base}/name")
    reader.copy("/SNMP/ProtocolEnabled", f"{base}/enabled")  # listed is in use: the standard has no switch
    community = reader.text(f"{at}/CommunityString")
    if community:
        reader.draft.put_secret(f"{base}/community", community, reader.origin(f"{at}/CommunityString"))
    elif community == "":
        _read_empty_community(reader, at, base)
    access = reader.word(f"{at}/AccessMode", _ACCESS)
    reader.put(f"{base}/access", access, f"{at}/AccessMode")
    _read_sources(reader, at, base)


def _read_empty_community(reader: Reader, at: str, base: str) -> None:
    """Take an empty community for one only where the service says that it hides none."""
    if reader.flag("/SNMP/HideCommunityStrings") is False:
        reader.put(f"{base}/community", {"empty": True}, f"{at}/CommunityString")
    else:
        reader.lose(f"{at}/CommunityString", "empty, where the service may hide it")


def _read_sources(reader: Reader, at: str, base: str) -> None:
    where = f"{at}/RestrictCommunityToIPv4AddressRange"
    restricted = reader.flag(where)
    bounds = [reader.text(f"{at}/IPv4AddressRange{end}") or "" for end in ("Lower", "Upper")]
    if restricted is False:
        reader.put(f"{base}/allowed_sources", {"any": True}, where)
    elif restricted:
        prefixes = range_prefixes(*bounds)
        if prefixes is None:
            reader.lose(where, "restricted to a range without two addresses in order")
        else:
            reader.put(f"{base}/allowed_sources", {"prefixes": prefixes}, where)


def read_snmp_users(accounts: Sequence[Reader], protocols: Reader | None) -> None:
    """Take the accounts that are SNMP users.

    The standard lets the agent's own protocols stand above those of an account, unless it says
    ``Account``. Where both are told and differ, the record keeps the account's, and the
    contradiction is told: an audit must see the user that is set up without a proof.
    """
    for account in accounts:
        if "SNMP" not in [word for _, word in account.texts("/AccountTypes") or ()]:
            continue
        base = account.draft.next_item("/snmp/users")
        account.copy("/UserName", f"{base}/name")
        account.copy("/Enabled", f"{base}/enabled")
        for name, leaf, words in _PROTOCOLS:
            _read_protocol(account, protocols, f"/SNMP/{name}Protocol", f"{base}/{leaf}_protocol", words)
            put_key(account, f"/SNMP/{name}Key", f"{base}/{leaf}_secret")
        if account.value("/SNMP/AuthenticationProtocol") == "None":  # no other level can be asked of it
            account.put(f"{base}/level", "noAuthNoPriv", "/SNMP/AuthenticationProtocol")


_PROTOCOLS = (("Authentication", "auth", AUTHENTICATION), ("Encryption", "priv", ENCRYPTION))


def _read_protocol(
    account: Reader, protocols: Reader | None, at: str, pointer: str, words: Mapping[str, str]
) -> None:
    own = account.word(at, words)
    account.put(pointer, own, at)
    if protocols is None or protocols.text("/SNMP/AuthenticationProtocol") == _FROM_ACCOUNT:
        return
    common = protocols.text(at)
    if own is None:
        protocols.put(pointer, protocols.word(at, words), at)
    elif common and words.get(common) != own:
        account.lose(at, f"differs from what the agent says for all accounts in {protocols.origin(at)}")


def put_key(reader: Reader, at: str, pointer: str) -> None:
    """Put a key or passphrase of SNMPv3, which a service should never reveal.

    Source: DSP0268, ManagerAccount, SNMP: ``Passphrase:`` or ``Hex:`` stand before it, or nothing.
    """
    key = reader.text(at)
    if not key:
        return
    if key.startswith("Hex:"):
        reader.put(pointer, {"localized": key.removeprefix("Hex:")}, at)
    else:
        reader.draft.put_secret(pointer, key.removeprefix("Passphrase:"), reader.origin(at))
