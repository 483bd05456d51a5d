"""How fit a TLS cipher suite is, told from its IANA name; holds no facts and no thresholds.

The names follow two patterns of the IANA registry "TLS Cipher Suites": up to TLS 1.2
``TLS_<key exchange>_WITH_<cipher>_<hash>``, in TLS 1.3 ``TLS_<AEAD>_<hash>`` (RFC 8446 B.4).
Of the sources, RFC 9325 and RFC 7465 were checked against their text; the others are from memory.
"""

from collections.abc import Mapping
from enum import StrEnum
from functools import lru_cache
from types import MappingProxyType


class SuiteGrade(StrEnum):
    """How fit a suite is. ``forbidden`` is the standard's MUST NOT, ``discouraged`` its SHOULD NOT."""

    FIT = "fit"
    DISCOURAGED = "discouraged"
    FORBIDDEN = "forbidden"


FORBIDDEN_PARTS: Mapping[str, str] = MappingProxyType(
    {
        "NULL": "RFC 9325 section 4.1",
        "RC4": "RFC 7465 section 2, RFC 9325 section 4.1",
        "EXPORT": "RFC 9325 section 4.1 (under 112 bits)",
        "DES40": "RFC 9325 section 4.1 (under 112 bits)",
        "DES": "RFC 9325 section 4.1 (56 bits, under 112)",
        "RC2": "RFC 9325 section 4.1 (40 bits, under 112)",
        "ANON": "RFC 5246 appendix A.5: no authentication of the server (from memory)",
    }
)
"""Parts of a suite's name that alone forbid it, with the source."""

FORBIDDEN_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "TLS_SHA256_SHA256": "RFC 9150: integrity only, no encryption; RFC 9325 section 4.1",
        "TLS_SHA384_SHA384": "RFC 9150: integrity only, no encryption; RFC 9325 section 4.1",
    }
)
"""Suites without encryption whose names do not say NULL."""

DISCOURAGED_CIPHERS: Mapping[str, str] = MappingProxyType(
    {
        "3DES": "RFC 9325 sections 4.1 and 4.2 (112 bits, under 128)",
        "CBC": "RFC 9325 sections 4.1 and 4.2 (a record does not tell encrypt-then-MAC)",
    }
)
"""Parts of the cipher that discourage a suite."""

DISCOURAGED_EXCHANGES: Mapping[str, str] = MappingProxyType(
    {
        "RSA": "RFC 9325 sections 4.1 and 4.2: static RSA",
        "DH": "RFC 9325 sections 4.1 and 4.2: static Diffie-Hellman",
        "ECDH": "RFC 9325 sections 4.1 and 4.2: static elliptic-curve Diffie-Hellman",
        "DHE": "RFC 9325 sections 4.1 and 4.2: TLS_DHE_*",
        "PSK": "RFC 9325: no forward secrecy (from memory)",
    }
)
"""First part of the key exchange that discourages a suite."""

TLS_1_3_SUITES: Mapping[str, str] = MappingProxyType(
    {
        "TLS_AES_128_GCM_SHA256": "RFC 8446 appendix B.4",
        "TLS_AES_256_GCM_SHA384": "RFC 8446 appendix B.4",
        "TLS_CHACHA20_POLY1305_SHA256": "RFC 8446 appendix B.4",
        "TLS_AES_128_CCM_SHA256": "RFC 8446 appendix B.4",
        "TLS_AES_128_CCM_8_SHA256": "RFC 8446 appendix B.4",
    }
)
"""Suites of TLS 1.3, all fit."""

SIGNALLING_NAMES: Mapping[str, str] = MappingProxyType(
    {
        "TLS_EMPTY_RENEGOTIATION_INFO_SCSV": "RFC 5746 section 3.3",
        "TLS_FALLBACK_SCSV": "RFC 7507",
    }
)
"""Names that stand in a list of suites but are none: they carry a signal."""

_FIT_MODES = frozenset({"GCM", "CCM", "POLY1305"})


@lru_cache(maxsize=1024)
def suite_grade(name: str) -> SuiteGrade | None:
    """Return how fit a suite is, or None for a name that is no IANA name known here.

    Source: RFC 9325 sections 4.1 and 4.2; the tables above say which part of them.
    """
    parts = name.upper().split("_")
    if parts[0] != "TLS":
        return None
    if name in FORBIDDEN_NAMES or not FORBIDDEN_PARTS.keys().isdisjoint(parts):
        return SuiteGrade.FORBIDDEN
    if name in TLS_1_3_SUITES or name in SIGNALLING_NAMES:
        return SuiteGrade.FIT
    if "WITH" not in parts:
        return None
    split = parts.index("WITH")
    return _older_grade(parts[1:split], parts[split + 1 :])


def _older_grade(exchange: list[str], cipher: list[str]) -> SuiteGrade | None:
    if not exchange or not cipher:
        return None
    if exchange[0] in DISCOURAGED_EXCHANGES or not DISCOURAGED_CIPHERS.keys().isdisjoint(cipher):
        return SuiteGrade.DISCOURAGED
    if exchange[0] == "ECDHE" and not _FIT_MODES.isdisjoint(cipher):
        return SuiteGrade.FIT
    return None
