"""Values of YANG leaves → values of a record. What can't be converted says why, never what."""

import base64
import binascii
import ipaddress
import re

from auditor.record.mask import MASKED, is_masked


class UnfitError(ValueError):
    """A value that can't be converted; the message says what was expected, and never the value."""


def text_of(text: str) -> str:
    """Return a text without outer blanks, which only lay out the source."""
    return text.strip()


def truth_of(text: str) -> bool:
    """Return a boolean. Source: RFC 7950 section 9.5."""
    words = {"true": True, "false": False}
    if text.strip() not in words:
        raise UnfitError("expected true or false")
    return words[text.strip()]


def number_of(text: str) -> int:
    """Return a whole number of at most ten digits."""
    if not re.fullmatch(r"[+-]?[0-9]{1,10}", text.strip()):
        raise UnfitError("expected a whole number")
    return int(text)


def identity_of(text: str) -> str:
    """Return an identity without the prefix or module name. Source: RFC 7951 section 6.8."""
    return text.strip().rpartition(":")[2]


def prefix_length_of(text: str) -> int:
    """Return the length of the prefix that an IPv4 netmask stands for."""
    try:
        return ipaddress.IPv4Network(f"0.0.0.0/{text.strip()}").prefixlen
    except ValueError as error:
        raise UnfitError("expected a netmask whose ones all stand first") from error


def prefix_of(address: str, length: str) -> str:
    """Return an address and the length of a prefix, empty for the address alone, in CIDR form."""
    plain = address.strip().partition("%")[0]
    try:
        network = ipaddress.ip_network(f"{plain}/{length.strip()}" if length.strip() else plain, strict=False)
    except ValueError as error:
        raise UnfitError("expected an address and the length of its prefix") from error
    return str(network)


def crypt_of(text: str) -> dict[str, object]:
    """Return a password of the type crypt-hash as a secret; ``$0$`` marks a clear text.

    Source: RFC 7317 section 3.3 and module iana-crypt-hash.
    """
    if text.startswith("$0$"):
        return {"clear": text[3:]} if text[3:] else {"empty": True}
    if is_masked(text.strip()):
        raise UnfitError(MASKED)
    if not _CRYPT.fullmatch(text.strip()):
        raise UnfitError("expected a crypt hash that begins with $0$, $1$, $5$ or $6$ and is whole")
    return {"crypt": text.strip()}


_CRYPT = re.compile(
    r"\$1\$[a-zA-Z0-9./]{1,8}\$[a-zA-Z0-9./]{22}"
    r"|\$5\$(rounds=[0-9]+\$)?[a-zA-Z0-9./]{1,16}\$[a-zA-Z0-9./]{43}"
    r"|\$6\$(rounds=[0-9]+\$)?[a-zA-Z0-9./]{1,16}\$[a-zA-Z0-9./]{86}",
)


def localized_of(text: str) -> dict[str, object]:
    """Return a localized key as a secret: its octets without colons, and without breaks of the line.

    Source: RFC 7407 module ietf-snmp-usm; its example A.3 breaks a key over two lines.
    """
    if is_masked(text.strip()):
        raise UnfitError(MASKED)
    digits = re.sub(r"[:\s]", "", text).lower()
    if not re.fullmatch(r"([0-9a-f]{2}){10,64}", digits):
        raise UnfitError("expected a localized key of 10 to 64 octets in hexadecimal digits")
    return {"localized": digits}


def base64_text_of(text: str) -> str:
    """Return the text that a binary value holds, if it is one."""
    try:
        return base64.b64decode(re.sub(r"\s", "", text), validate=True).decode("utf-8")
    except (binascii.Error, ValueError) as error:
        raise UnfitError("a binary value that is no text in UTF-8") from error


def subtree_of(text: str) -> tuple[str, str]:
    """Return subtree and mask of a view's family; the mask is empty where nothing is a wildcard.

    A wildcard has the number 0 in the subtree and the bit 0 in the mask, whose first bit is
    the most significant of the first octet.

    Source: RFC 7407 type wildcard-object-identifier; RFC 3415, vacmViewTreeFamilyMask.
    """
    parts = text.strip().removeprefix(".").split(".")
    if not all(part == "*" or (part.isascii() and part.isdecimal()) for part in parts):
        raise UnfitError("an object identifier with names in it; only numbers are read")
    subtree = ".".join("0" if part == "*" else part for part in parts)
    if "*" not in parts:
        return subtree, ""
    bits = "".join("0" if part == "*" else "1" for part in parts)
    octets = -(-len(bits) // 8)
    return subtree, f"{int(bits.ljust(8 * octets, '0'), 2):0{2 * octets}x}"
