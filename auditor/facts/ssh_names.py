"""How fit the algorithms of SSH are, by their IANA names; holds no facts and no thresholds.

Names with ``@`` are local extensions (RFC 4251 section 6): those listed are in wide use,
"common practice, no source" where no RFC is named. Of the sources, RFC 9142 and RFC 8758 were
checked against their text; section numbers of the others are from memory.
"""

from collections.abc import Mapping
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType


class AlgorithmGrade(StrEnum):
    """How fit an algorithm is."""

    FIT = "fit"
    DISCOURAGED = "discouraged"
    WEAK = "weak"


_PRACTICE = "common practice, no source"

WEAK_KEY_EXCHANGES: Mapping[str, str] = MappingProxyType(
    {
        "rsa1024-sha1": "RFC 9142 section 4: MUST NOT",
        "diffie-hellman-group1-sha1": "RFC 9142 section 4: SHOULD NOT",
        "diffie-hellman-group-exchange-sha1": "RFC 9142 section 4: SHOULD NOT",
    }
)
"""Key exchanges that RFC 9142 advises against or forbids."""

WEAK_KEY_EXCHANGE_HEADS: Mapping[str, str] = MappingProxyType(
    {
        "gss-gex-sha1-": "RFC 9142 section 4: SHOULD NOT",
        "gss-group1-sha1-": "RFC 9142 section 4: SHOULD NOT",
        "gss-group14-sha1-": "RFC 9142 section 4: SHOULD NOT",
    }
)
"""Heads of such names: a mechanism's digest follows (RFC 4462)."""

FIT_KEY_EXCHANGES: Mapping[str, str] = MappingProxyType(
    {
        "curve25519-sha256": "RFC 9142 section 4: SHOULD",
        "curve25519-sha256@libssh.org": "RFC 8731: the same method by its former name",
        "curve448-sha512": "RFC 9142 section 4: MAY",
        "ecdh-sha2-nistp256": "RFC 9142 section 4: SHOULD",
        "ecdh-sha2-nistp384": "RFC 9142 section 4: SHOULD",
        "ecdh-sha2-nistp521": "RFC 9142 section 4: SHOULD",
        "diffie-hellman-group14-sha1": "RFC 9142 section 4: MAY",
        "diffie-hellman-group14-sha256": "RFC 9142 section 4: MUST",
        "diffie-hellman-group15-sha512": "RFC 9142 section 4: MAY",
        "diffie-hellman-group16-sha512": "RFC 9142 section 4: SHOULD",
        "diffie-hellman-group17-sha512": "RFC 9142 section 4: MAY",
        "diffie-hellman-group18-sha512": "RFC 9142 section 4: MAY",
        "diffie-hellman-group-exchange-sha256": "RFC 9142 section 4: MAY",
        "rsa2048-sha256": "RFC 9142 section 4: MAY (from memory)",
        "sntrup761x25519-sha512": _PRACTICE,
        "sntrup761x25519-sha512@openssh.com": _PRACTICE,
        "mlkem768x25519-sha256": _PRACTICE,
        "ext-info-s": "RFC 8308: an indicator, no key exchange",
        "kex-strict-s-v00@openssh.com": "an indicator, no key exchange; " + _PRACTICE,
    }
)
"""Key exchanges, and indicators among their names, that nothing speaks against."""

WEAK_CIPHERS: Mapping[str, str] = MappingProxyType(
    {
        "none": "RFC 4253 section 6.3: no encryption",
        "arcfour": "RFC 8758",
        "arcfour128": "RFC 8758",
        "arcfour256": "RFC 8758",
        "des-cbc": "56-bit key; FIPS 46-3, withdrawn (from memory)",
        "3des-cbc": "64-bit block; NIST SP 800-131Ar2 (from memory)",
        "3des-ctr": "64-bit block; NIST SP 800-131Ar2 (from memory)",
        "blowfish-cbc": "64-bit block; " + _PRACTICE,
        "blowfish-ctr": "64-bit block; " + _PRACTICE,
        "cast128-cbc": "64-bit block; " + _PRACTICE,
        "cast128-ctr": "64-bit block; " + _PRACTICE,
        "idea-cbc": "64-bit block; " + _PRACTICE,
        "idea-ctr": "64-bit block; " + _PRACTICE,
    }
)
"""Ciphers without encryption, broken, with too short a key or too small a block."""

DISCOURAGED_CIPHERS: Mapping[str, str] = MappingProxyType(
    dict.fromkeys(
        (
            "aes128-cbc", "aes192-cbc", "aes256-cbc", "rijndael-cbc@lysator.liu.se",
            "twofish-cbc", "twofish128-cbc", "twofish192-cbc", "twofish256-cbc",
            "serpent128-cbc", "serpent192-cbc", "serpent256-cbc",
        ),
        "CBC mode in SSH: CVE-2008-5161 (from memory)",
    )
)  # fmt: skip
"""Ciphers whose mode leaks text to somebody who can disturb the connection."""

FIT_CIPHERS: Mapping[str, str] = MappingProxyType(
    {
        "aes128-ctr": "RFC 4344 section 4",
        "aes192-ctr": "RFC 4344 section 4",
        "aes256-ctr": "RFC 4344 section 4",
        "AEAD_AES_128_GCM": "RFC 5647 section 6",
        "AEAD_AES_256_GCM": "RFC 5647 section 6",
        "aes128-gcm@openssh.com": "RFC 5647, by another name; " + _PRACTICE,
        "aes256-gcm@openssh.com": "RFC 5647, by another name; " + _PRACTICE,
        "chacha20-poly1305@openssh.com": _PRACTICE,
        "twofish128-ctr": "RFC 4344 section 4",
        "twofish192-ctr": "RFC 4344 section 4",
        "twofish256-ctr": "RFC 4344 section 4",
        "serpent128-ctr": "RFC 4344 section 4",
        "serpent192-ctr": "RFC 4344 section 4",
        "serpent256-ctr": "RFC 4344 section 4",
    }
)
"""Ciphers that nothing speaks against."""

WEAK_MACS: Mapping[str, str] = MappingProxyType(
    {
        "none": "RFC 4253 section 6.4: no integrity",
        "hmac-md5": "RFC 6151 section 2.3 (from memory)",
        "hmac-md5-96": "RFC 6151 section 2.3 (from memory)",
        "hmac-md5-etm@openssh.com": "RFC 6151 section 2.3 (from memory)",
        "hmac-md5-96-etm@openssh.com": "RFC 6151 section 2.3 (from memory)",
        "hmac-sha1-96": "SHA-1 cut to 96 bits; " + _PRACTICE,
        "hmac-sha1-96-etm@openssh.com": "SHA-1 cut to 96 bits; " + _PRACTICE,
        "umac-64@openssh.com": "64-bit tag; " + _PRACTICE,
        "umac-64-etm@openssh.com": "64-bit tag; " + _PRACTICE,
    }
)
"""Message authentication codes that are absent, on MD5, or cut short."""

FIT_MACS: Mapping[str, str] = MappingProxyType(
    {
        "hmac-sha1": "RFC 4253 section 6.4: REQUIRED; no collision of SHA-1 breaks an HMAC",
        "hmac-sha1-etm@openssh.com": "RFC 4253 section 6.4, in another order; " + _PRACTICE,
        "hmac-sha2-256": "RFC 6668 section 2",
        "hmac-sha2-512": "RFC 6668 section 2",
        "hmac-sha2-256-etm@openssh.com": "RFC 6668, in another order; " + _PRACTICE,
        "hmac-sha2-512-etm@openssh.com": "RFC 6668, in another order; " + _PRACTICE,
        "umac-128@openssh.com": _PRACTICE,
        "umac-128-etm@openssh.com": _PRACTICE,
        "AEAD_AES_128_GCM": "RFC 5647 section 6",
        "AEAD_AES_256_GCM": "RFC 5647 section 6",
    }
)
"""Message authentication codes that nothing speaks against."""


@lru_cache(maxsize=1024)
def key_exchange_grade(name: str) -> AlgorithmGrade | None:
    """Return how fit a key exchange is, or None for a name not known here.

    Source: RFC 9142 section 4.
    """
    if name in WEAK_KEY_EXCHANGES or name.startswith(tuple(WEAK_KEY_EXCHANGE_HEADS)):
        return AlgorithmGrade.WEAK
    return AlgorithmGrade.FIT if name in FIT_KEY_EXCHANGES else None


def cipher_grade(name: str) -> AlgorithmGrade | None:
    """Return how fit a cipher is, or None for a name not known here. Source: the tables above."""
    return _CIPHERS.get(name)


def mac_grade(name: str) -> AlgorithmGrade | None:
    """Return how fit a MAC is, or None for a name not known here. Source: the tables above."""
    return _MACS.get(name)


_CIPHERS = MappingProxyType(
    dict.fromkeys(FIT_CIPHERS, AlgorithmGrade.FIT)
    | dict.fromkeys(DISCOURAGED_CIPHERS, AlgorithmGrade.DISCOURAGED)
    | dict.fromkeys(WEAK_CIPHERS, AlgorithmGrade.WEAK)
)
_MACS = MappingProxyType(
    dict.fromkeys(FIT_MACS, AlgorithmGrade.FIT) | dict.fromkeys(WEAK_MACS, AlgorithmGrade.WEAK)
)
