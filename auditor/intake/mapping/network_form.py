"""Addresses, masks, prefixes, hosts and hardware addresses, as exports write them → the record's forms."""

import re
from ipaddress import (
    AddressValueError,
    IPv4Address,
    IPv6Address,
    NetmaskValueError,
    ip_address,
    ip_network,
    summarize_address_range,
)

from auditor.intake.mapping.conversion_error import ConversionError

LONGEST = 128
"""Characters of an address in any form; our own figure."""

_BITS_4, _BITS_6 = 32, 128
_HEX = re.compile(r"[0-9A-Fa-f]{12}")
_PORT = re.compile(r"[0-9]{1,5}")


def address(text: str) -> str:
    """Return the address of a text such as ``192.0.2.1/24`` or ``[2001:db8::1]:161``.

    Raises:
        ConversionError: if there is no address.
    """
    first = _bounded(text).replace("/", " ").split(" ", 1)[0]
    try:
        return str(ip_address(_host_and_port(first)[0]))
    except ValueError as error:
        raise ConversionError("not an address") from error


def prefix_length(text: str) -> int:
    """Return the length of a prefix, from a mask, a number, or an address with either.

    Raises:
        ConversionError: if there is no mask or length, or the mask has gaps.
    """
    told = _bounded(text)
    last = told.replace("/", " ").split()[-1:]
    if not last:
        raise ConversionError("not a mask or a prefix length")
    most = _BITS_6 if ":" in told else _BITS_4
    if last[0].isascii() and last[0].isdecimal() and len(last[0]) <= 3 and int(last[0]) <= most:  # noqa: PLR2004 - digits
        return int(last[0])
    return _length_of_mask(last[0])


def _length_of_mask(mask: str) -> int:
    try:
        bits = int(IPv4Address(mask))
    except AddressValueError as error:
        raise ConversionError("not a mask or a prefix length") from error
    length = bits.bit_count()
    if bits != (1 << _BITS_4) - (1 << (_BITS_4 - length)):
        raise ConversionError("a mask with gaps")
    return length


def prefix(text: str) -> str:
    """Return the prefix that an address with a mask or a length lies in; a bare address is one host.

    Raises:
        ConversionError: if there is no prefix.
    """
    told = _bounded(text).replace("/", " ").split()
    if len(told) not in (1, 2):
        raise ConversionError("not a prefix")
    try:
        own = ip_address(told[0])
        most = _BITS_4 if own.version == 4 else _BITS_6  # noqa: PLR2004 - the version of IP
        length = prefix_length(f"{told[0]} {told[1]}") if len(told) > 1 else most
        return str(ip_network((str(own), length), strict=False))
    except (ValueError, NetmaskValueError) as error:
        raise ConversionError("not a prefix") from error


def prefixes(text: str) -> list[str]:
    """Return the prefixes that a text stands for: one, or those of a range ``first-last``.

    Raises:
        ConversionError: if there is no prefix or range.
    """
    first, dash, last = _bounded(text).partition("-")
    if not dash:
        return [prefix(text)]
    try:
        low, high = ip_address(first.strip()), ip_address(last.strip())
        if isinstance(low, IPv4Address) and isinstance(high, IPv4Address):
            return [str(one) for one in summarize_address_range(low, high)]
        if isinstance(low, IPv6Address) and isinstance(high, IPv6Address):
            return [str(one) for one in summarize_address_range(low, high)]
    except ValueError as error:
        raise ConversionError("not a range of addresses") from error
    raise ConversionError("not a range of addresses")


def host(text: str) -> str:
    """Return the host of a text such as ``log.example.net:6514`` or ``[2001:db8::1]:514``.

    Raises:
        ConversionError: if the text is too long or empty.
    """
    found = _host_and_port(_bounded(text))[0]
    if not found or " " in found:
        raise ConversionError("not a host")
    return found


def port(text: str) -> int:
    """Return the port of a text: a bare number, or what follows a host.

    Raises:
        ConversionError: if there is no port.
    """
    told = _bounded(text)
    found = told if _PORT.fullmatch(told) else _host_and_port(told)[1]
    if not _PORT.fullmatch(found):
        raise ConversionError("not a port")
    return int(found)


def mac_address(text: str) -> str:
    """Return a hardware address in pairs with colons, from any of the usual groupings.

    Raises:
        ConversionError: if there are not twelve hexadecimal digits.
    """
    digits = _bounded(text)
    for sign in ":-. ":
        digits = digits.replace(sign, "")
    if not _HEX.fullmatch(digits):
        raise ConversionError("not a hardware address")
    return ":".join(digits[at : at + 2] for at in range(0, 12, 2)).lower()


def _bounded(text: str) -> str:
    told = text.strip()
    if not told or len(told) > LONGEST:
        raise ConversionError("not an address or a host")
    return told


def _host_and_port(text: str) -> tuple[str, str]:
    """Split a host from its port. Source: RFC 3986 section 3.2.2 (brackets round IPv6 addresses)."""
    if text.startswith("["):
        inside, _, after = text[1:].partition("]")
        return inside, after.removeprefix(":")
    if text.count(":") == 1:
        own, _, number = text.partition(":")
        return own, number
    return text, ""
