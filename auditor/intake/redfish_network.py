"""ManagerNetworkProtocol and EthernetInterface → names, services, time servers, interfaces.

SNMP, which stands in the same resource, has a module of its own.

Source: DMTF DSP0268, ManagerNetworkProtocol to v1_12, EthernetInterface to v1_9; what a property
means is taken from the descriptions of the schemas.
"""

from collections.abc import Sequence

from auditor.intake.redfish_address import (
    MALFORMED,
    host_prefix,
    is_address,
    is_host,
    is_unspecified,
    prefix_length,
)
from auditor.intake.redfish_resource import Reader

_SERVICES = {
    "HTTP": "http",
    "HTTPS": "https",
    "SSH": "ssh",
    "Telnet": "telnet",
    "SFTP": "sftp",
    "SSDP": "ssdp",
    "mDNS": "mdns",
}
_METHODS = {"Static": "static", "DHCP": "dhcp", "IPv4LinkLocal": "link_local"}
_DHCP6 = {"Stateful": True, "Stateless": True, "Enabled": True, "Disabled": False}


def read_network_protocol(protocols: Reader) -> None:
    """Take names, services and time servers."""
    _read_names(protocols)
    for name, service in _SERVICES.items():
        protocols.copy(f"/{name}/ProtocolEnabled", f"/services/{service}/enabled")
        protocols.copy(f"/{name}/Port", f"/services/{service}/port")
    _read_ftp(protocols)
    _read_modbus(protocols)
    _read_ntp(protocols)


def _read_names(reader: Reader) -> None:
    reader.copy("/HostName", "/network/hostname")
    _, dot, domain = (reader.text("/FQDN") or "").partition(".")
    if dot and domain:
        reader.put("/network/domain", domain, "/FQDN")


def _read_ftp(reader: Reader) -> None:
    """Take FTP and FTPS as one service: the port tells nothing, for both may say 21."""
    clear, tls = reader.flag("/FTP/ProtocolEnabled"), reader.flag("/FTPS/ProtocolEnabled")
    at = "/FTP" if clear or not tls else "/FTPS"
    if clear is not None or tls:
        reader.put("/services/ftp/enabled", bool(clear or tls), f"{at}/ProtocolEnabled")
        reader.copy(f"{at}/Port", "/services/ftp/port")
    elif tls is False:
        reader.lose("/FTPS/ProtocolEnabled", "that FTP over TLS is off does not tell of FTP in clear")
    if clear is not None and tls is not None and (clear or tls):
        word = "required" if not clear else "offered" if tls else "none"
        reader.put("/services/ftp/tls", word, "/FTPS/ProtocolEnabled")


def _read_modbus(reader: Reader) -> None:
    reader.copy("/Modbus/ProtocolEnabled", "/services/modbus_tcp/enabled")
    reader.copy("/Modbus/Port", "/services/modbus_tcp/port")
    read_only = reader.flag("/Modbus/ReadOnly")
    if read_only is not None:
        reader.put("/services/modbus_tcp/allows_write", not read_only, "/Modbus/ReadOnly")
    at = "/Modbus/RestrictAccessToAllowedClients"
    restricted = reader.flag(at)
    clients = reader.texts("/Modbus/AllowedClients")
    if restricted is False:
        reader.put("/services/modbus_tcp/allowed_sources", {"any": True}, at)
    elif restricted and clients is not None:
        prefixes = [host_prefix(client) for _, client in clients]
        if None in prefixes:  # one source fewer would make the filter look tighter than it is
            reader.lose("/Modbus/AllowedClients", "a client that is no address can't stand in a filter")
        else:
            reader.put(
                "/services/modbus_tcp/allowed_sources", {"prefixes": prefixes}, "/Modbus/AllowedClients"
            )


def _read_ntp(reader: Reader) -> None:
    """Take the time servers; that NTP is off does not tell what sets the clock instead."""
    enabled = reader.flag("/NTP/ProtocolEnabled")
    if enabled:
        reader.put("/time/source", "ntp", "/NTP/ProtocolEnabled")
    port = reader.number("/NTP/Port")
    given = [reader.texts("/NTP/NTPServers"), reader.texts("/NTP/NetworkSuppliedServers")]
    for at, server in [pair for servers in given for pair in servers or ()]:
        base = reader.draft.next_item("/time/servers")
        if not is_host(server):
            reader.lose(at, MALFORMED)
        elif not is_unspecified(server) and reader.put(f"{base}/host", server, at):
            reader.put(f"{base}/port", port, "/NTP/Port")
    if given[0] is not None and not any(given):
        reader.put("/time/servers", [], "/NTP/NTPServers")


def read_interfaces(interfaces: Sequence[Reader]) -> None:
    """Take the interfaces of a manager, in the order given."""
    for interface in interfaces:
        base = interface.draft.next_item("/network/interfaces")
        interface.copy("/Id", f"{base}/name")
        interface.copy("/InterfaceEnabled", f"{base}/enabled")
        interface.copy("/MACAddress", f"{base}/mac_address")
        _read_ipv4(interface, f"{base}/ipv4")
        _read_ipv6(interface, f"{base}/ipv6")
        _read_vlan(interface, base)
        if not interface.value("/Links/HostInterface") and not interface.draft.has("/card/mac_address"):
            interface.copy("/MACAddress", "/card/mac_address")
        for repeated in ("/HostName", "/FQDN"):
            interface.skip(repeated)
    _read_name_servers(interfaces)


def _read_ipv4(reader: Reader, base: str) -> None:
    at = "/IPv4Addresses"
    for index, item in enumerate(reader.items(at)):
        if index:
            reader.lose(item, "a record holds one IPv4 address an interface")
    if reader.value(f"{at}/0") is not None:
        address = reader.text(f"{at}/0/Address")
        if (
            address
            and not is_unspecified(address)
            and reader.put(f"{base}/address", address, f"{at}/0/Address")
        ):
            reader.put(f"{base}/enabled", value=True, at=f"{at}/0/Address")  # in use, so it is on
        reader.copy(f"{at}/0/Gateway", f"{base}/gateway")
        _read_mask(reader, f"{at}/0/SubnetMask", f"{base}/prefix_length")
        method = reader.word(f"{at}/0/AddressOrigin", _METHODS)
        reader.put(f"{base}/method", method, f"{at}/0/AddressOrigin")
    elif reader.flag("/DHCPv4/DHCPEnabled"):
        reader.put(f"{base}/method", "dhcp", "/DHCPv4/DHCPEnabled")


def _read_mask(reader: Reader, at: str, pointer: str) -> None:
    mask = reader.text(at)
    if not mask:
        return
    length = prefix_length(mask)
    if length is None:
        reader.lose(at, "no subnet mask")
    else:
        reader.put(pointer, length, at)


def _read_ipv6(reader: Reader, base: str) -> None:
    origins: dict[str, str] = {}
    for at in reader.items("/IPv6Addresses"):
        item = reader.draft.next_item(f"{base}/addresses")
        if reader.copy(f"{at}/Address", f"{item}/address") and not reader.draft.has(f"{base}/enabled"):
            reader.put(f"{base}/enabled", value=True, at=f"{at}/Address")
        reader.copy(f"{at}/PrefixLength", f"{item}/prefix_length")
        origins.setdefault(reader.text(f"{at}/AddressOrigin") or "", f"{at}/AddressOrigin")
    gateway = reader.text("/IPv6DefaultGateway")
    if gateway and not is_unspecified(gateway):
        reader.put(f"{base}/gateway", gateway, "/IPv6DefaultGateway")
    auto = "/StatelessAddressAutoConfig/IPv6AutoConfigEnabled"
    if not reader.copy(auto, f"{base}/autoconfiguration") and "SLAAC" in origins:
        reader.put(f"{base}/autoconfiguration", value=True, at=origins["SLAAC"])
    mode = reader.text("/DHCPv6/OperatingMode")
    if mode in _DHCP6:
        reader.put(f"{base}/dhcp", _DHCP6[mode], "/DHCPv6/OperatingMode")
    elif "DHCPv6" in origins:
        reader.put(f"{base}/dhcp", value=True, at=origins["DHCPv6"])


def _read_vlan(reader: Reader, base: str) -> None:
    if reader.flag("/VLAN/VLANEnable"):
        reader.copy("/VLAN/VLANId", f"{base}/vlan_id")
    else:
        reader.skip("/VLAN")


def _read_name_servers(interfaces: Sequence[Reader]) -> None:
    pointer, at = "/network/dns_servers", "/NameServers"
    known: set[str] = set()
    given = [(reader, reader.texts(at)) for reader in interfaces]
    for reader, where, server in [(reader, *pair) for reader, servers in given for pair in servers or ()]:
        if not is_address(server):
            reader.lose(where, "a DNS server is an address, and this is none")
        elif not is_unspecified(server) and server not in known:
            known.add(server)
            reader.put(reader.draft.next_item(pointer), server, where)
    empty = [reader for reader, servers in given if servers == []]
    if len(empty) == len(interfaces) and empty:
        empty[0].put(pointer, [], at)
