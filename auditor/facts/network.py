"""Facts on addressing: what kind of address a card has, its gateway, its source filter, names."""

from collections.abc import Iterator
from functools import lru_cache
from ipaddress import AddressValueError, IPv4Address, IPv4Network, IPv6Address, IPv6Network, ip_network

from auditor.facts.fact import Context, FactValue, Settings, fact
from auditor.facts.sources import IPV4_BITS, address_count, allows_any, shortest_prefix_bits
from auditor.facts.three_valued import all_of, any_of

_INTERFACES = "/network/interfaces"

_IPV4_KINDS = tuple(
    (int(network.network_address), int(network.broadcast_address), kind)
    for kind, prefixes in {
        "private": ("10.0.0.0/8", "172.16.0.0/12", "192.168.0.0/16"),
        "shared": ("100.64.0.0/10",),
        "link-local": ("169.254.0.0/16",),
        "documentation": ("192.0.2.0/24", "198.51.100.0/24", "203.0.113.0/24"),
        "loopback": ("127.0.0.0/8",),
        "special": ("0.0.0.0/8", "192.0.0.0/24", "198.18.0.0/15", "240.0.0.0/4"),
        "multicast": ("224.0.0.0/4",),
    }.items()
    for network in map(IPv4Network, prefixes)
)
"""First address, last address, kind. What stands in none of them is globally routable.

Source: RFC 1918 section 3, RFC 6598, RFC 3927, RFC 5737, RFC 6890 section 2.2; multicast:
RFC 5771 section 3 (from memory).
"""

_IPV6_GLOBAL = IPv6Network("2000::/3")
_IPV6_NOT_GLOBAL = tuple(map(IPv6Network, ("2001:db8::/32", "2001::/23", "2002::/16")))
"""Source: RFC 4291 section 2.4 (2000::/3, from memory); RFC 6890 section 2.2 for the rest."""

_HOST_LISTS = (("log", "collectors"), ("snmp", "receivers"))
_NOT_CAPTURED: Settings = {}

_LONGEST_SUBNET = 30
"""Longer prefixes have no network and broadcast address. Source: RFC 3021 (/31); /32 is a host."""


@fact(about=_INTERFACES, reads=["/ipv4/address"], source="RFC 6890 section 2.2, RFC 1918 section 3")
def ipv4_kind(interface: Settings, _record: Settings, _context: Context) -> str | None:
    """Classify the IPv4 address.

    One of private, shared, link-local, documentation, loopback, special, multicast, global,
    or ``not IPv4`` for other text.
    """
    return _kind_of(interface.get("ipv4", {}).get("address"))


@fact(
    about=_INTERFACES,
    reads=["/ipv4", "/ipv4/address", "/ipv4/prefix_length", "/ipv4/gateway"],
    source="common practice, no source",
)
def ipv4_gaps(interface: Settings, _record: Settings, _context: Context) -> FactValue:
    """Name what is still unset (all zeros) among address, prefix length and gateway.

    Unknown if none is found but one of the three is not captured.
    """
    ipv4 = interface.get("ipv4", {})
    values = ipv4.get("address"), ipv4.get("prefix_length"), ipv4.get("gateway")
    names = ("address", "prefix length", "gateway")
    gaps = tuple(name for name, value in zip(names, values, strict=True) if value in ("0.0.0.0", 0))  # noqa: S104 - unset, not bound
    return gaps or (None if None in values else ())


@fact(
    about=_INTERFACES,
    reads=["/ipv4/gateway", "/ipv4/address", "/ipv4/prefix_length"],
    source="RFC 1122 section 3.3.1 (from memory)",
)
def gateway_place(interface: Settings, _record: Settings, _context: Context) -> str | None:
    """Say where the gateway stands: beside the card, or where it can't be reached.

    One of ``in the subnet``, ``outside the subnet``, ``the card itself``, ``the network address``,
    ``the broadcast address``.
    """
    ipv4 = interface.get("ipv4", {})
    address, gateway = _ipv4(ipv4.get("address")), _ipv4(ipv4.get("gateway"))
    length = ipv4.get("prefix_length")
    if address is None or gateway is None or length is None:
        return None
    if gateway == address:
        return "the card itself"
    first, last = _edges(address, length)
    if not first <= gateway <= last:
        return "outside the subnet"
    if length > _LONGEST_SUBNET:
        return "in the subnet"
    return {first: "the network address", last: "the broadcast address"}.get(gateway, "in the subnet")


@fact(
    about=_INTERFACES,
    reads=["/ipv4/address", "/ipv4/prefix_length"],
    source="RFC 1122 section 3.2.1.3 (from memory)",
)
def address_is_for_a_host(interface: Settings, _record: Settings, _context: Context) -> bool | None:
    """Say whether the IPv4 address is neither the network nor the broadcast address of its subnet."""
    ipv4 = interface.get("ipv4", {})
    address, length = _ipv4(ipv4.get("address")), ipv4.get("prefix_length")
    if address is None or length is None:
        return None
    return length > _LONGEST_SUBNET or address not in _edges(address, length)


@fact(about=_INTERFACES, reads=["/ipv6/addresses"], source="RFC 6890 section 2.2")
def global_ipv6_addresses(interface: Settings, _record: Settings, _context: Context) -> FactValue:
    """Name the globally routable IPv6 addresses of the interface.

    Unknown if none is found but the list, or an address in it, is not captured.
    """
    addresses = interface.get("ipv6", {}).get("addresses")
    if addresses is None:
        return None
    texts = [entry.get("address") for entry in addresses]
    found = tuple(text for text in texts if text and _is_global_ipv6(text))
    return found or (None if None in texts else ())


@fact(reads=["/network/allowed_sources"], source="NIST SP 800-53r5 SC-7(5)")
def card_accepts_any_source(record: Settings, _context: Context) -> bool | None:
    """Say whether the card's own filter lets every address in."""
    return allows_any(record.get("network", {}).get("allowed_sources"))


@fact(reads=["/network/allowed_sources"], unit="bits", source="NIST SP 800-53r5 SC-7(5)")
def filter_ipv4_bits(record: Settings, _context: Context) -> int | None:
    """Return the length of the widest IPv4 prefix that the card's filter lets in; 32 for none."""
    return shortest_prefix_bits(record.get("network", {}).get("allowed_sources"), ipv6=False)


@fact(reads=["/network/allowed_sources"], unit="bits", source="NIST SP 800-53r5 SC-7(5)")
def filter_ipv6_bits(record: Settings, _context: Context) -> int | None:
    """Return the length of the widest IPv6 prefix that the card's filter lets in; 128 for none."""
    return shortest_prefix_bits(record.get("network", {}).get("allowed_sources"), ipv6=True)


@fact(reads=["/network/allowed_sources"], unit="addresses", source="NIST SP 800-53r5 SC-7(5)")
def filter_ipv4_addresses(record: Settings, _context: Context) -> int | None:
    """Count the IPv4 addresses that the card's filter lets in, all its prefixes together."""
    return address_count(record.get("network", {}).get("allowed_sources"), ipv6=False)


@fact(reads=["/network/dns_servers"], unit="servers", source="RFC 1034 section 4.1 (from memory)")
def dns_server_count(record: Settings, _context: Context) -> int | None:
    """Count the different DNS servers of the card."""
    servers = record.get("network", {}).get("dns_servers")
    return None if servers is None else len(set(servers))


@fact(
    reads=["/mail/server", "/mail/enabled", "/services/mqtt", "/time/servers", "/time/source",
           "/directory/ldap", "/directory/radius", "/log/collectors", "/snmp/receivers"],
    source="common practice, no source",
)  # fmt: skip
def name_to_resolve(record: Settings, _context: Context) -> str | None:
    """Return the first host that the card must look up, or empty where all stand by address.

    Looked for among mail, MQTT, time, directories, log and notification receivers; what is
    known to be off needs no name. Unknown if none is found but one of these is not captured.
    """
    doubtful = False
    for is_used, host in _hosts(record):
        if is_used is not False and (host is None or _is_name(host)):
            if is_used and host:
                return host
            doubtful = True
    return None if doubtful else ""


def has_global_address(record: Settings) -> bool | None:
    """Return whether the public internet can reach an interface of the card that may be on.

    It can where the address is globally routable, or where the segment is said to be the
    internet. Unknown if none is found but an address or a segment was not captured.
    """
    interfaces = record.get("network", _NOT_CAPTURED).get("interfaces")
    return None if interfaces is None else any_of(map(_is_global_interface, interfaces))


def global_address_places(record: Settings) -> tuple[str, ...]:
    """Return where the globally routable addresses of the card stand; else what leaves that open."""
    interfaces = record.get("network", _NOT_CAPTURED).get("interfaces")
    if interfaces is None:
        return ("/network/interfaces",)
    places = [_places_in(interface, f"{_INTERFACES}/{n}") for n, interface in enumerate(interfaces)]
    return tuple(place for found in places for place in found)


def _places_in(interface: Settings, at: str) -> tuple[str, ...]:
    is_global = _is_global_interface(interface)
    if is_global is None:
        return tuple(f"{at}/{name}" for name in _MAY_MAKE_GLOBAL)
    ipv4, ipv6 = interface.get("ipv4", _NOT_CAPTURED), interface.get("ipv6", _NOT_CAPTURED)
    found = {
        "segment": interface.get("segment") == "internet",
        "ipv4/address": _kind_of(ipv4.get("address")) == "global",
        "ipv6/addresses": _has_global_ipv6(ipv6),
    }
    return tuple(f"{at}/{name}" for name, holds in found.items() if is_global and holds)


_MAY_MAKE_GLOBAL = (
    "enabled", "segment", "ipv4/enabled", "ipv4/address", "ipv6/enabled", "ipv6/addresses",
    "ipv6/autoconfiguration", "ipv6/dhcp",
)  # fmt: skip


def _is_global_interface(interface: Settings) -> bool | None:
    if interface.get("enabled") is False:
        return False
    ipv4, ipv6 = interface.get("ipv4", _NOT_CAPTURED), interface.get("ipv6", _NOT_CAPTURED)
    address, segment = ipv4.get("address"), interface.get("segment")
    by_segment = None if segment is None else segment == "internet"
    by_ipv4 = all_of(ipv4.get("enabled"), None if address is None else _kind_of(address) == "global")
    by_ipv6 = ipv6.get("enabled") is not False and all_of(ipv6.get("enabled"), _has_global_ipv6(ipv6))
    return all_of(interface.get("enabled"), any_of((by_segment, by_ipv4, by_ipv6)))


def _has_global_ipv6(ipv6: Settings) -> bool | None:
    """Return whether IPv6 gives the interface a global address; one that is made by itself is not known."""
    addresses = ipv6.get("addresses")
    texts = [None] if addresses is None else [entry.get("address") for entry in addresses]
    found = [None if text is None else _is_global_ipv6(text) for text in texts]
    found += [None for way in ("autoconfiguration", "dhcp") if ipv6.get(way) is not False]
    return any_of(found)


@lru_cache(maxsize=4096)
def has_global_space(prefix: str) -> bool:
    """Return whether a prefix holds globally routable addresses.

    Source: RFC 6890 section 2.2 and the others at the tables above.
    """
    network = ip_network(prefix, strict=False)
    if isinstance(network, IPv4Network):
        return _has_global_ipv4(int(network.network_address), int(network.broadcast_address))
    held = network.overlaps(_IPV6_GLOBAL)
    return held and not any(network.subnet_of(other) for other in _IPV6_NOT_GLOBAL)


def _has_global_ipv4(first: int, last: int) -> bool:
    """Return whether a range of addresses reaches out of the ranges that are not global."""
    for begin, end, _ in sorted(_IPV4_KINDS):
        if begin <= first <= end:
            first = end + 1
    return first <= last


def _hosts(record: Settings) -> Iterator[tuple[bool | None, str | None]]:
    """Yield whether the card calls a host, and the host; None stands for what is not captured."""
    mail = record.get("mail", _NOT_CAPTURED)
    mqtt = record.get("services", _NOT_CAPTURED).get("mqtt", _NOT_CAPTURED)
    yield mail.get("enabled"), mail.get("server")
    yield mqtt.get("enabled"), mqtt.get("broker")
    time, directory = record.get("time", _NOT_CAPTURED), record.get("directory", _NOT_CAPTURED)
    source = time.get("source")
    yield from _servers(time, is_used=None if source is None else source == "ntp")
    for kind in ("ldap", "radius"):
        section = directory.get(kind, _NOT_CAPTURED)
        yield from _servers(section, is_used=section.get("enabled"))
    for section, members in _HOST_LISTS:
        for entry in record.get(section, _NOT_CAPTURED).get(members, (_NOT_CAPTURED,)):
            yield entry.get("enabled"), entry.get("host")


def _servers(section: Settings, *, is_used: bool | None) -> Iterator[tuple[bool | None, str | None]]:
    for server in section.get("servers", (_NOT_CAPTURED,)):
        yield is_used, server.get("host")


def _is_name(host: str) -> bool:
    return ":" not in host and not host.replace(".", "").isdigit()


@lru_cache(maxsize=4096)
def _kind_of(text: str | None) -> str | None:
    if text is None:
        return None
    number = _ipv4(text)
    if number is None:
        return "not IPv4"
    return next((kind for first, last, kind in _IPV4_KINDS if first <= number <= last), "global")


@lru_cache(maxsize=4096)
def _ipv4(text: str | None) -> int | None:
    """Return the number of an address; the schema also takes IPv6 text in its place."""
    if text is None:
        return None
    try:
        return int(IPv4Address(text))
    except AddressValueError:
        return None


def _edges(address: int, length: int) -> tuple[int, int]:
    """Return the network address and the broadcast address of the address's subnet."""
    hosts = (1 << (IPV4_BITS - length)) - 1
    return address & ~hosts, address | hosts


@lru_cache(maxsize=4096)
def _is_global_ipv6(text: str) -> bool:
    try:
        address = IPv6Address(text)
    except AddressValueError:
        return False
    return address in _IPV6_GLOBAL and not any(address in network for network in _IPV6_NOT_GLOBAL)
