"""SNMPv3 keys: from a passphrase to the key of one engine, and back against known words.

Holds no facts, no words and no file: the keys of the well-known words are passed in.
"""

import hashlib
from collections.abc import Callable, Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any, Final, TypeAlias

from auditor.facts.fact import Context, Settings

WordKeys: TypeAlias = Mapping[str, tuple[bytes, ...]]
"""By authentication protocol, the keys (Ku) of the well-known words, before localization."""

EXPANSION_OCTETS: Final = 1_048_576
"""A passphrase is repeated to so many octets. Source: RFC 3414 A.2."""

_HASHES: Final[Mapping[str, Callable[..., Any]]] = MappingProxyType(
    {
        "md5": hashlib.md5,
        "sha1": hashlib.sha1,
        "sha224": hashlib.sha224,
        "sha256": hashlib.sha256,
        "sha384": hashlib.sha384,
        "sha512": hashlib.sha512,
    }
)

PROTOCOLS: Final = tuple(_HASHES)
"""Authentication protocols, as the record names them. Source: RFC 3414 (MD5, SHA-1), RFC 7860."""

_EMPTY: Settings = {}

_COMPARED_OCTETS: Final = 10
"""The shortest key that a record may hold; no two words share so long a head by chance."""


def key_octets(protocol: str) -> int:
    """Return the length of a key, in octets: that of the protocol's hash.

    Raises:
        KeyError: if the protocol is none of ``PROTOCOLS``.
    """
    length: int = _HASHES[protocol]().digest_size
    return length


def password_to_key(password: bytes, protocol: str) -> bytes:
    """Return the key (Ku) of a passphrase, the same for every engine.

    The passphrase is repeated to a million octets and hashed: this is the expensive part, and
    why a short pattern and its repetition give the same key (RFC 3414 section 11.2).

    Raises:
        KeyError: if the protocol is none of ``PROTOCOLS``.
        ValueError: if the passphrase is empty: nothing can be repeated.
    Source: RFC 3414 A.2.1 and A.2.2; RFC 7860 section 9.3.
    """
    if not password:
        raise ValueError("an empty passphrase has no key")
    repeated = password * (EXPANSION_OCTETS // len(password) + 1)
    return _digest(protocol, memoryview(repeated)[:EXPANSION_OCTETS])


def localize(key: bytes, engine_id: bytes, protocol: str) -> bytes:
    """Return the localized key (Kul) of a key (Ku) for one engine.

    Raises:
        KeyError: if the protocol is none of ``PROTOCOLS``.
    Source: RFC 3414 section 2.6; RFC 7860 section 9.3.
    """
    return _digest(protocol, key + engine_id + key)


def des_key(localized: bytes) -> tuple[bytes, bytes]:
    """Return the DES key and the pre-IV: octets 1 to 8, and 9 to 16, of the localized key.

    Source: RFC 3414 section 8.1.1.1.
    """
    return localized[:8], localized[8:16]


def aes_key(localized: bytes) -> bytes:
    """Return the AES-128 key: the first 16 octets of the localized key.

    Source: RFC 3826 section 3.1.2.1.
    """
    return localized[:16]


def place_of_key(keys: tuple[bytes, ...], localized: bytes, *, engine_id: bytes, protocol: str) -> int | None:
    """Return the place of the key (Ku) that a localized key was made of for this engine, or None.

    A privacy key is the head of the localized key, so heads are compared. ``localized`` must
    have 10 octets or more. The keys are localized once an engine and protocol, then looked up.

    Raises:
        KeyError: if the protocol is none of ``PROTOCOLS``.
    """
    return _places(keys, engine_id, protocol).get(localized[:_COMPARED_OCTETS])


NO_WORD: Final = -1
"""The place of a key that was made of none of the words."""


def place_of_word(localized: str, user: Settings, record: Settings, context: Context) -> int | None:
    """Return the place of the word that a user's localized key was made of, or ``NO_WORD``.

    The place is that among ``context.word_keys``, the same for every protocol. ``localized`` is
    hexadecimal. Unknown without the card's engine id, the user's authentication protocol
    (whose hash also makes the privacy key) or the words' keys.
    """
    engine_id = record.get("snmp", _EMPTY).get("engine_id")
    protocol = user.get("auth_protocol", "none")
    if engine_id is None or protocol not in _HASHES:
        return None
    keys = context.word_keys.get(protocol)
    if not keys:
        return None
    place = place_of_key(keys, bytes.fromhex(localized), engine_id=_octets(engine_id), protocol=protocol)
    return NO_WORD if place is None else place


def is_key_of_well_known(localized: str, user: Settings, record: Settings, context: Context) -> bool | None:
    """Return whether a user's localized key was made of a well-known word; unknown as its place is."""
    place = place_of_word(localized, user, record, context)
    return None if place is None else place != NO_WORD


def _digest(protocol: str, octets: bytes | memoryview) -> bytes:
    digest: bytes = _HASHES[protocol](octets, usedforsecurity=False).digest()
    return digest


def _octets(engine_id: str) -> bytes:
    """Return the octets of an engine id, written with colons, blanks or nothing between them."""
    return bytes.fromhex(engine_id.replace(":", "").replace(" ", ""))


@lru_cache(maxsize=64)
def _places(keys: tuple[bytes, ...], engine_id: bytes, protocol: str) -> Mapping[bytes, int]:
    """Return by its head the place of each localized key of one engine: its users share the work."""
    make = _HASHES[protocol]  # ``localize`` written out: this is done for every word and engine
    return {
        make(key + engine_id + key, usedforsecurity=False).digest()[:_COMPARED_OCTETS]: place
        for place, key in enumerate(keys)
    }
