"""External account providers → the LDAP directory of a record.

A record holds one LDAP directory. Of several providers that speak LDAP, the first in use
counts: LDAP, then ActiveDirectory, then additional ones by name.

Source: DMTF DSP0268, ExternalAccountProvider to v1_5.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from auditor.dataclass import dataclass
from auditor.intake.redfish_accounts import role_word
from auditor.intake.redfish_address import MALFORMED, Authority, authority, is_host
from auditor.intake.redfish_resource import Reader

_SPEAK_LDAP = ("LDAPService", "ActiveDirectoryService")
_IN_SERVICE = {"LDAP": "LDAPService", "ActiveDirectory": "ActiveDirectoryService"}
_OTHERS = ("OAuth2", "TACACSplus")
_BINDS = {"UsernameAndPassword": "simple", "KerberosKeytab": "sasl"}
_RANK = {True: 0, None: 1, False: 2}


@dataclass(frozen=True, slots=True)
class _Provider:
    """One provider: the resource it stands in, where, and whether it is in use."""

    reader: Reader
    at: str
    in_use: bool | None


def read_directory(
    service: Reader | None,
    additional: Sequence[Reader],
    roles: Mapping[str, Reader],
    *,
    verifies: bool | None,
) -> None:
    """Take the directory in use; ``verifies`` is the manager's policy on servers' certificates."""
    providers = sorted(_providers(service, additional), key=lambda one: _RANK[one.in_use])
    for other in providers[1:]:
        if other.in_use:
            other.reader.lose(other.at, "a record holds one LDAP directory, and another is in use too")
    if providers:
        _read_provider(providers[0], roles, verifies=verifies)
        _read_order(service, providers[0])


def _providers(service: Reader | None, additional: Sequence[Reader]) -> Iterator[_Provider]:
    if service is not None:
        for name in _IN_SERVICE:
            if isinstance(service.resource.body.get(name), dict):
                yield _Provider(service, f"/{name}", _in_use(service.resource.body[name]))
    for reader in additional:
        if reader.resource.body.get("AccountProviderType") in _SPEAK_LDAP:
            yield _Provider(reader, "", _in_use(reader.resource.body))


def _in_use(provider: Mapping[str, Any]) -> bool | None:
    enabled = provider.get("ServiceEnabled")
    return enabled if isinstance(enabled, bool) else None


def _read_provider(provider: _Provider, roles: Mapping[str, Reader], *, verifies: bool | None) -> None:
    reader, at, base = provider.reader, provider.at, "/directory/ldap"
    reader.skip(f"{at}/AccountProviderType")
    reader.put(f"{base}/enabled", reader.flag(f"{at}/ServiceEnabled"), f"{at}/ServiceEnabled")
    servers = _read_servers(reader, f"{at}/ServiceAddresses", f"{base}/servers")
    if servers and all(server.scheme == "ldaps" for server in servers):
        reader.put(f"{base}/transport", "ldaps", f"{at}/ServiceAddresses")
        if verifies is not None:
            reader.put(f"{base}/verify_certificate", verifies, f"{at}/ServiceAddresses")
    _read_bind(reader, f"{at}/Authentication", f"{base}/bind")
    _read_default_role(reader, f"{at}/RemoteRoleMapping", roles)


def _read_servers(reader: Reader, at: str, pointer: str) -> list[Authority]:
    servers = []
    addresses = reader.texts(at)
    for where, address in addresses or ():
        server = authority(address)
        if server is None or not is_host(server.host):
            reader.lose(where, MALFORMED)
            continue
        item = reader.draft.next_item(pointer)
        if reader.put(f"{item}/host", server.host, where):
            reader.put(f"{item}/port", server.port, where)
            servers.append(server)
    if addresses == []:
        reader.put(pointer, [], at)
    return servers


def _read_bind(reader: Reader, at: str, base: str) -> None:
    method = reader.word(f"{at}/AuthenticationType", _BINDS)
    reader.put(f"{base}/method", method, f"{at}/AuthenticationType")
    reader.copy(f"{at}/Username", f"{base}/dn")
    password = reader.text(f"{at}/Password")
    if password:
        reader.draft.put_secret(f"{base}/password", password, reader.origin(f"{at}/Password"))


def _read_default_role(reader: Reader, at: str, roles: Mapping[str, Reader]) -> None:
    """Take the role of users whom no mapping names: the standard turns them away.

    A mapping with an asterisk takes in whoever is left; its role then is theirs.
    """
    if not isinstance(reader.value(at), list):
        return
    for item in reader.items(at):
        names = [reader.text(f"{item}/{name}") or "" for name in ("RemoteGroup", "RemoteUser")]
        if any("*" in name for name in names):
            role = role_word(reader.text(f"{item}/LocalRole") or "", roles)
            if role is None:
                reader.lose(item, "a mapping for everybody, to a role that the capture does not explain")
            reader.put("/directory/ldap/default_role", role, f"{item}/LocalRole")
            break
    else:
        reader.put("/directory/ldap/default_role", "none", at)
    reader.skip(at)


def _read_order(service: Reader | None, provider: _Provider) -> None:
    """Take the order where the standard fixes it and nothing but LDAP is in use."""
    word = service.text("/LocalAccountAuth") if service else None
    if service is None or word not in ("LocalFirst", "Fallback") or not provider.in_use:
        return
    if any(service.flag(f"/{name}/ServiceEnabled") for name in _OTHERS):
        service.lose("/LocalAccountAuth", "the order also names a provider that a record does not know")
        return
    order = ["local", "ldap"] if word == "LocalFirst" else ["ldap", "local"]
    service.draft.put("/directory/order", order, service.origin("/LocalAccountAuth"))
