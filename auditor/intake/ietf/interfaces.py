"""ietf-interfaces (RFC 8343) and ietf-ip (RFC 8344): interfaces and their addresses."""

import ipaddress
from collections.abc import Mapping
from functools import partial

from auditor.dataclass import dataclass, replace
from auditor.intake.ietf.data_tree import Node
from auditor.intake.ietf.taker import Taker
from auditor.intake.ietf.values import UnfitError, number_of, prefix_length_of, truth_of

_CONFIGURED = "ietf-interfaces:interfaces/interface"
_OBSERVED = "ietf-interfaces:interfaces-state/interface"
_IPV4, _IPV6 = "ietf-ip:ipv4", "ietf-ip:ipv6"

MAPPED = frozenset(
    {
        f"{_CONFIGURED}/enabled",
        f"{_CONFIGURED}/{_IPV4}/enabled",
        f"{_CONFIGURED}/{_IPV6}/enabled",
        f"{_CONFIGURED}/{_IPV6}/autoconf/create-global-addresses",
        *(
            f"{list_}/{path}"
            for list_ in (_CONFIGURED, _OBSERVED)
            for path in (
                "name",
                "phys-address",
                f"{_IPV4}/address/ip",
                f"{_IPV4}/address/prefix-length",
                f"{_IPV4}/address/netmask",
                f"{_IPV4}/address/origin",
                f"{_IPV6}/address/ip",
                f"{_IPV6}/address/prefix-length",
                f"{_IPV6}/address/origin",
            )
        ),
    }
)
"""Paths of the leaves taken here; ``interfaces-state`` is what older models have for state."""

_STATE_LEAVES = frozenset(
    {
        "admin-status",
        "oper-status",
        "last-change",
        "if-index",
        "phys-address",
        "higher-layer-if",
        "lower-layer-if",
        "speed",
        "statistics",
    }
)
_LINK_LOCAL = ipaddress.ip_network("169.254.0.0/16")


@dataclass(frozen=True, slots=True)
class _Interface:
    """What is told of one interface: its entry, and the one in the older list of state."""

    entry: Node
    state: Node | None

    def every(self, path: str) -> tuple[Node, ...]:
        """Return the nodes of the entry, or of the state if the entry has none."""
        return self.entry.every(path) or (self.state.every(path) if self.state else ())

    def origins(self, path: str) -> Mapping[str, Node]:
        """Return by address where it came from, as its own leaf tells, else that of the state."""
        told = (self.state.every(path) if self.state else ()) + self.entry.every(path)
        return {address.word("ip"): origin for address in told for origin in address.every("origin")}


def take_interfaces(top: Node, taker: Taker) -> None:
    """Take every interface, configured or only observed."""
    observed = {node.word("name"): node for node in top.every(_OBSERVED)}
    for entry in top.every(_CONFIGURED):
        state = observed.pop(entry.word("name"), None)
        is_state = any(child.name in _STATE_LEAVES for child in entry.children)
        _take_interface(_Interface(entry, state), replace(taker, fills=taker.fills and not is_state))
    for node in observed.values():
        _take_interface(_Interface(node, None), replace(taker, fills=False))


def _take_interface(interface: _Interface, taker: Taker) -> None:
    """Take one interface; what is absent has its default only in an entry that is configuration."""
    entry = interface.entry
    at = taker.draft.next_item("/network/interfaces")
    if not taker.take(f"{at}/name", entry.every("name")):
        return
    taker.take_or(f"{at}/enabled", entry.every("enabled"), truth_of, default=True, parent=entry)
    taker.take(f"{at}/mac_address", interface.every("phys-address"))
    for family in entry.every(_IPV4):
        enabled = family.every("enabled")
        taker.take_or(f"{at}/ipv4/enabled", enabled, truth_of, default=True, parent=family)
    _take_ipv4(interface, f"{at}/ipv4", taker)
    for family in entry.every(_IPV6):
        _take_ipv6(family, f"{at}/ipv6", taker)
    _take_ipv6_addresses(interface, f"{at}/ipv6", taker)


def _take_ipv4(interface: _Interface, at: str, taker: Taker) -> None:
    path = f"{_IPV4}/address"
    addresses = interface.every(path)
    for further in addresses[1:]:
        taker.draft.lose(further.origin, "a record holds one IPv4 address of an interface; the first is kept")
    for address in addresses[:1]:
        taker.take(f"{at}/address", address.every("ip"))
        taker.take(f"{at}/prefix_length", address.every("prefix-length"), number_of)
        taker.take(f"{at}/prefix_length", address.every("netmask"), prefix_length_of)
        origin = interface.origins(path).get(address.word("ip"))
        if origin is not None:
            taker.take(f"{at}/method", (origin,), partial(_method, address.word("ip")))
        elif taker.fills:
            # RFC 8344: static is an address "configured, for example using NETCONF".
            taker.draft.put(f"{at}/method", "static", address.origin)


def _method(address: str, text: str) -> str:
    """Return the record's word for an origin. Source: RFC 8344, type ip-address-origin."""
    word = text.strip()
    if word in ("static", "dhcp"):
        return word
    if word == "random" and _is_link_local(address):
        return "link_local"
    raise UnfitError("a record has words only for static, dhcp and random in 169.254.0.0/16")


def _is_link_local(address: str) -> bool:
    try:
        return ipaddress.ip_address(address) in _LINK_LOCAL
    except ValueError:
        return False


def _take_ipv6(family: Node, at: str, taker: Taker) -> None:
    taker.take_or(f"{at}/enabled", family.every("enabled"), truth_of, default=True, parent=family)
    wanted = family.every("autoconf/create-global-addresses")
    taker.take_or(f"{at}/autoconfiguration", wanted, truth_of, default=True, parent=family)


def _take_ipv6_addresses(interface: _Interface, at: str, taker: Taker) -> None:
    path = f"{_IPV6}/address"
    for address in interface.every(path):
        place = taker.draft.next_item(f"{at}/addresses")
        if taker.take(f"{place}/address", address.every("ip")):
            taker.take(f"{place}/prefix_length", address.every("prefix-length"), number_of)
    for origin in interface.origins(path).values():
        if origin.text.strip() == "dhcp":
            taker.draft.put(f"{at}/dhcp", True, origin.origin)  # noqa: FBT003 - a setting
            break
