"""EventService and its destinations → mail, SNMP receivers, syslog collectors.

A destination that exists is in use, unless its status or the whole service says otherwise: the
standard knows no other way to switch one off.

Source: DMTF DSP0268, EventService to v1_9, EventDestination to v1_13; RFC 4088 (SNMP in URIs).
"""

from collections.abc import Sequence

from auditor.intake.redfish_address import MALFORMED, Authority, authority, is_host
from auditor.intake.redfish_resource import Reader
from auditor.intake.redfish_snmp import AUTHENTICATION, ENCRYPTION

_PROTECTION = {
    "None": "none",
    "AutoDetect": "starttls_optional",  # takes what the server offers, clear text if that is all
    "StartTLS": "starttls_required",
    "TLS_SSL": "tls",
}
_LOGS_IN = {"None": False, "Plain": True, "Login": True, "CRAM_MD5": True}
_SNMP = {"SNMPv1": "v1", "SNMPv2c": "v2c", "SNMPv3": "v3"}
_SYSLOG = {"SyslogTLS": "tls", "SyslogTCP": "tcp", "SyslogUDP": "udp"}
_KINDS = {"SNMPTrap": "trap", "SNMPInform": "inform"}
_RUNS = {"Enabled": True, "Disabled": False}


def read_events(service: Reader | None, destinations: Sequence[Reader], *, verifies: bool | None) -> None:
    """Take mail and every destination; ``verifies`` is the manager's policy on servers' certificates."""
    if service is not None:
        _read_mail(service, verifies=verifies)
    for destination in destinations:
        protocol = destination.text("/Protocol")
        if protocol in _SNMP:
            _read_receiver(destination, service, _SNMP[protocol])
        elif protocol in _SYSLOG:
            _read_collector(destination, service, _SYSLOG[protocol], verifies=verifies)
        elif protocol == "SMTP":
            _read_recipient(destination, service)
        else:
            destination.draft.unmapped(f"EventDestination/Destination ({protocol})")
            destination.skip("/Destination")


def _read_mail(service: Reader, *, verifies: bool | None) -> None:
    enabled = service.flag("/SMTP/ServiceEnabled")
    if service.flag("/ServiceEnabled") is False:
        service.put("/mail/enabled", value=False, at="/ServiceEnabled")
    else:
        service.put("/mail/enabled", enabled, "/SMTP/ServiceEnabled")
    _read_mail_server(service)
    service.copy("/SMTP/Port", "/mail/port")
    service.copy("/SMTP/FromAddress", "/mail/from_address")
    service.copy("/SMTP/Username", "/mail/username")
    protection = service.word("/SMTP/ConnectionProtocol", _PROTECTION)
    service.put("/mail/protection", protection, "/SMTP/ConnectionProtocol")
    if protection in ("starttls_required", "tls"):
        service.put("/mail/verify_certificate", verifies, "/SMTP/ConnectionProtocol")
    _read_mail_login(service)


def _read_mail_server(service: Reader) -> None:
    server = service.text("/SMTP/ServerAddress")
    if server and not is_host(server):
        service.lose("/SMTP/ServerAddress", MALFORMED)
    elif server:
        service.put("/mail/server", server, "/SMTP/ServerAddress")


def _read_mail_login(service: Reader) -> None:
    login = service.text("/SMTP/Authentication")
    if login in _LOGS_IN:
        service.put("/mail/authentication", _LOGS_IN[login], "/SMTP/Authentication")
    elif login:
        service.lose("/SMTP/Authentication", "does not say whether the manager logs in")
    password = service.text("/SMTP/Password")
    if password:
        service.draft.put_secret("/mail/password", password, service.origin("/SMTP/Password"))


def _read_enabled(destination: Reader, service: Reader | None, pointer: str) -> None:
    state = destination.text("/Status/State")
    runs = service.flag("/ServiceEnabled") if service is not None else None
    if service is not None and runs is False:
        service.draft.put(pointer, value=False, origin=service.origin("/ServiceEnabled"))
    elif state:
        destination.put(pointer, _RUNS.get(state), "/Status/State")
    elif runs:
        destination.put(pointer, value=True, at="/Destination")


def _read_receiver(destination: Reader, service: Reader | None, version: str) -> None:
    base = destination.draft.next_item("/snmp/receivers")
    parts = _read_host(destination, base)
    destination.put(f"{base}/version", version, "/Protocol")
    destination.copy("/Name", f"{base}/name")
    kind = _KINDS.get(destination.text("/SubscriptionType") or "")
    destination.put(f"{base}/kind", kind, "/SubscriptionType")
    _read_enabled(destination, service, f"{base}/enabled")
    user = parts.user if parts else ""
    if version == "v3":
        destination.put(f"{base}/user", user or None, "/Destination")
        destination.put(f"{base}/level", _level(destination), "/SNMP/AuthenticationProtocol")
        return
    community = destination.text("/SNMP/TrapCommunity") or ""
    at = "/SNMP/TrapCommunity" if community else "/Destination"
    if community or user:  # in the URI of v1 and v2c, what stands before the @ is the community
        destination.draft.put_secret(f"{base}/community", community or user, destination.origin(at))


def _level(destination: Reader) -> str | None:
    authentication = destination.word("/SNMP/AuthenticationProtocol", AUTHENTICATION)
    encryption = destination.word("/SNMP/EncryptionProtocol", ENCRYPTION)
    if authentication == "none":
        return "noAuthNoPriv"
    if authentication is None or encryption is None:
        return None
    return "authNoPriv" if encryption == "none" else "authPriv"


def _read_collector(
    destination: Reader, service: Reader | None, transport: str, *, verifies: bool | None
) -> None:
    base = destination.draft.next_item("/log/collectors")
    _read_host(destination, base)
    destination.put(f"{base}/transport", transport, "/Protocol")
    _read_enabled(destination, service, f"{base}/enabled")
    own = destination.flag("/VerifyCertificate")
    at = "/VerifyCertificate" if destination.has("/VerifyCertificate") else ""
    if transport == "tls" and (own or not verifies):  # absent is false, but a policy may add a check
        destination.put(f"{base}/verify_certificate", bool(own), at)


def _read_recipient(destination: Reader, service: Reader | None) -> None:
    """Take the recipient of a mailto: URI (RFC 6068)."""
    text = destination.text("/Destination") or ""
    address = text.removeprefix("mailto:").partition("?")[0]
    base = destination.draft.next_item("/mail/recipients")
    if destination.put(f"{base}/address", address, "/Destination"):
        _read_enabled(destination, service, f"{base}/enabled")


def _read_host(destination: Reader, base: str) -> Authority | None:
    text = destination.text("/Destination")
    parts = authority(text) if text else None
    if parts is None or not is_host(parts.host):
        if text:
            destination.lose("/Destination", MALFORMED)
    else:
        destination.put(f"{base}/host", parts.host, "/Destination")
    if parts is not None:
        destination.put(f"{base}/port", parts.port, "/Destination")
    return parts
