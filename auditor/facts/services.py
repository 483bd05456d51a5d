"""Facts on services: who may use them, on which ports they stand, and secrets of their own."""

from auditor.facts.fact import Context, FactValue, Settings, fact
from auditor.facts.secret_class import is_guessable, length_of
from auditor.facts.sources import allows_any

REGISTERED_PORTS = {
    ("ftp", "tcp"): 21,
    ("ssh", "tcp"): 22,
    ("telnet", "tcp"): 23,
    ("smtp", "tcp"): 25,
    ("tacacs", "tcp"): 49,
    ("tftp", "udp"): 69,
    ("http", "tcp"): 80,
    ("ntp", "udp"): 123,
    ("netbios-ns", "udp"): 137,
    ("snmp", "udp"): 161,
    ("snmptrap", "udp"): 162,
    ("ldap", "tcp"): 389,
    ("https", "tcp"): 443,
    ("submissions", "tcp"): 465,
    ("mbap", "tcp"): 502,
    ("shell", "tcp"): 514,
    ("syslog", "udp"): 514,
    ("submission", "tcp"): 587,
    ("syslog-conn", "tcp"): 601,
    ("asf-rmcp", "udp"): 623,
    ("ldaps", "tcp"): 636,
    ("mbap-s", "tcp"): 802,
    ("netconf-ssh", "tcp"): 830,
    ("ftps", "tcp"): 990,
    ("radius", "udp"): 1812,
    ("radius-acct", "udp"): 1813,
    ("mqtt", "tcp"): 1883,
    ("ssdp", "udp"): 1900,
    ("radsec", "tcp"): 2083,
    ("ws-discovery", "udp"): 3702,
    ("radius-dynauth", "udp"): 3799,
    ("ntske", "tcp"): 4460,
    ("mdns", "udp"): 5353,
    ("llmnr", "udp"): 5355,
    ("netconf-tls", "tcp"): 6513,
    ("syslog-tls", "tcp"): 6514,
    ("secure-mqtt", "tcp"): 8883,
    ("snmptls", "tcp"): 10161,
    ("snmptls-trap", "tcp"): 10162,
    ("bacnet", "udp"): 47808,
}
"""Registered name and transport → port, of the services met around a card.

Source: IANA Service Name and Transport Protocol Port Number Registry, snapshot of 2024-06-11;
LLMNR: RFC 4795 section 2.
"""

_REGISTERED_NAMES = {(port, transport): name for (name, transport), port in REGISTERED_PORTS.items()}

OWN_NAMES = {
    "http": ("http",),
    "https": ("https",),
    "telnet": ("telnet",),
    "ssh": ("ssh",),
    "ftp": ("ftp", "ftps"),
    "tftp": ("tftp",),
    "sftp": ("ssh",),
    "scp": ("ssh",),
    "rest_api": ("http", "https"),
    "modbus_tcp": ("mbap", "mbap-s"),
    "bacnet_ip": ("bacnet",),
    "mqtt": ("mqtt", "secure-mqtt"),
    "shutdown_agent": (),
}
"""Service of a record that stands on a port → the registered names it may stand on."""

_DATAGRAM = frozenset({"tftp", "bacnet_ip"})
_OWN_PORTS = tuple(
    (service, frozenset(port for (name, _), port in REGISTERED_PORTS.items() if name in names))
    for service, names in OWN_NAMES.items()
)
_NOT_CAPTURED: Settings = {}

_LISTENERS = (
    "http", "https", "telnet", "ssh", "ftp", "tftp", "sftp", "scp", "rest_api", "modbus_tcp",
    "bacnet_ip", "shutdown_agent",
)  # fmt: skip
"""Services that wait for callers; MQTT calls out to its broker."""


@fact(reads=["/services"], source="NIST SP 800-53r5 SC-7(5)")
def services_open_to_any(record: Settings, _context: Context) -> FactValue:
    """Name the enabled services that take callers from every address.

    Unknown if none is found but the state or the sources of some service are not captured.
    """
    services = record.get("services")
    if services is None:
        return None
    states = [_is_open_to_any(services.get(name)) for name in _LISTENERS]
    if True in states:
        return tuple(name for name, state in zip(_LISTENERS, states, strict=True) if state)
    return None if None in states else ()


@fact(reads=["/services"], source="IANA port number registry; common practice")
def services_on_foreign_ports(record: Settings, _context: Context) -> FactValue:
    """Name the enabled services that stand on a port registered to another one.

    Each as ``service on port (registered name)``. Unknown if none is found but the state or
    the port of some service is not captured.
    """
    services = record.get("services")
    if services is None:
        return None
    found, doubtful = [], False
    for name, own in _OWN_PORTS:
        service = services.get(name, _NOT_CAPTURED)
        if service.get("port") in own or service.get("enabled") is False:
            continue
        if "enabled" not in service or "port" not in service:
            doubtful = True
        elif owner := _registered_name(name, service["port"]):
            found.append(f"{name} on {service['port']} ({owner})")
    return tuple(found) if found else (None if doubtful else ())


@fact(reads=["/services/serial_console/password"], source="NIST SP 800-63B (revision 3) section 5.1.1.2")
def console_password_is_guessable(record: Settings, context: Context) -> bool | None:
    """Say whether the console's own password is empty or a well-known word."""
    secret = record.get("services", {}).get("serial_console", {}).get("password")
    return is_guessable(secret, context)


@fact(reads=["/services/serial_console/password"], unit="characters", source="NERC CIP-007-6 R5 part 5.5")
def console_password_length(record: Settings, _context: Context) -> int | None:
    """Count the characters of the console's own password."""
    return length_of(record.get("services", {}).get("serial_console", {}).get("password"))


@fact(reads=["/services/wifi/passphrase"], unit="characters", source="IEEE Std 802.11 (from memory)")
def wifi_passphrase_length(record: Settings, _context: Context) -> int | None:
    """Count the characters of the wireless passphrase."""
    return length_of(record.get("services", {}).get("wifi", {}).get("passphrase"))


@fact(reads=["/services/wifi/passphrase"], source="NIST SP 800-63B (revision 3) section 5.1.1.2")
def wifi_passphrase_is_guessable(record: Settings, context: Context) -> bool | None:
    """Say whether the wireless passphrase is empty or a well-known word."""
    return is_guessable(record.get("services", {}).get("wifi", {}).get("passphrase"), context)


@fact(reads=["/services/mqtt/password"], source="NIST SP 800-63B (revision 3) section 5.1.1.2")
def mqtt_password_is_guessable(record: Settings, context: Context) -> bool | None:
    """Say whether the password given to the broker is empty or a well-known word."""
    return is_guessable(record.get("services", {}).get("mqtt", {}).get("password"), context)


@fact(reads=["/services/mqtt/password"], unit="characters", source="NIST SP 800-63B revision 4, by analogy")
def mqtt_password_length(record: Settings, _context: Context) -> int | None:
    """Count the characters of the password given to the broker."""
    return length_of(record.get("services", {}).get("mqtt", {}).get("password"))


def _is_open_to_any(service: Settings | None) -> bool | None:
    if service is None:
        return None
    enabled = service.get("enabled")
    if enabled is False:
        return False
    is_open = allows_any(service.get("allowed_sources"))
    return False if is_open is False else (is_open if enabled else None)


def _registered_name(name: str, port: int) -> str | None:
    """Return whose port it is; agents may use either transport, so both count for them."""
    transports = ("tcp", "udp") if name == "shutdown_agent" else ("udp" if name in _DATAGRAM else "tcp",)
    owners = (_REGISTERED_NAMES.get((port, transport)) for transport in transports)
    return next((owner for owner in owners if owner), None)
