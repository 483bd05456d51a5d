"""Addresses as Redfish writes them: in URIs, with masks, as ranges. Knows no property by name."""

import re
from ipaddress import (
    AddressValueError,
    IPv4Address,
    IPv4Network,
    NetmaskValueError,
    ip_address,
    summarize_address_range,
)

from auditor.dataclass import dataclass

MALFORMED = "neither a host name nor an address"
_URI = re.compile(
    r"(?:(?P<scheme>[A-Za-z][A-Za-z0-9+.-]*)://)?"
    r"(?:(?P<user>[^@/?#]*)@)?"
    r"(?P<host>\[[0-9A-Fa-f:.%A-Za-z_-]*\]|[^:/?#@\[\]]+)"
    r"(?::(?P<port>[0-9]{1,5}))?"
    r"(?:[/?#].*)?"
)
"""``scheme://user@host:port/path``, all but the host left out at will (RFC 3986 section 3)."""


@dataclass(frozen=True, slots=True)
class Authority:
    """The parts of a destination; ``user`` may be a community and so a secret."""

    scheme: str
    user: str
    host: str
    port: int | None


def authority(text: str) -> Authority | None:
    """Return the parts of a destination, None if it has no such form or its host is malformed."""
    if is_address(text):
        return Authority("", "", text, None)
    found = _URI.fullmatch(text)
    if found is None:
        return None
    port = int(found["port"]) if found["port"] else None
    return Authority((found["scheme"] or "").lower(), found["user"] or "", found["host"].strip("[]"), port)


def is_address(text: str) -> bool:
    """Tell whether a text is an IPv4 or IPv6 address."""
    try:
        ip_address(text)
    except ValueError:
        return False
    return True


def is_host(text: str) -> bool:
    """Tell whether a text may be a host: a name that ends in digits is meant to be an address.

    Source: RFC 1123 section 2.1 (the last label of a name is not all digits).
    """
    last = text.rstrip(".").rpartition(".")[2]
    return is_address(text) if ":" in text or last.isdecimal() else bool(last)


def is_unspecified(text: str) -> bool:
    """Tell whether a text is the address of nobody, as empty slots show it (common practice, no source)."""
    return is_address(text) and ip_address(text).is_unspecified


def prefix_length(mask: str) -> int | None:
    """Return the length of a prefix from its mask, None if the mask is none."""
    try:
        length = IPv4Network(f"0.0.0.0/{mask}").prefixlen
        same = IPv4Address(mask) == IPv4Network(f"0.0.0.0/{length}").netmask
    except (AddressValueError, NetmaskValueError, ValueError):
        return None
    return length if same else None


def host_prefix(address: str) -> str | None:
    """Return the prefix of a single host, None if the text is no address."""
    if not is_address(address) or "%" in address:
        return None
    return f"{address}/{ip_address(address).max_prefixlen}"


def range_prefixes(lower: str, upper: str) -> list[str] | None:
    """Return the prefixes that cover a range of IPv4 addresses, ends included; None if it is none."""
    try:
        return [str(net) for net in summarize_address_range(IPv4Address(lower), IPv4Address(upper))]
    except (ValueError, TypeError):
        return None
