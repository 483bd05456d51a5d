"""SNMPv3 keys: the vectors of the standards, a second implementation, and known words found again."""

import hashlib
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts import snmp
from auditor.facts.fact import Context, Settings
from auditor.facts.localized_key import (
    PROTOCOLS,
    aes_key,
    des_key,
    key_octets,
    localize,
    password_to_key,
    place_of_key,
)

ENGINE = bytes.fromhex("000000000000000000000002")
MAPLESYRUP = {
    "md5": ("9faf3283884e92834ebc9847d8edd963", "526f5eed9fcce26f8964c2930787d82b"),
    "sha1": ("9fb5cc0381497b3793528939ff788d5d79145211", "6695febc9288e36282235fc7151f128497b38f3f"),
    "sha224": (
        "282a5867ee9aac639ad59df9572c7d3ac0fbc13a905b6df07dbbf00b",
        "0bd8827c6e29f8065e08e09237f177e410f69b90e1782be682075674",
    ),
    "sha256": (
        "ab51014d1e077f6017df2b12bee5f5aa72993177e9bb569c4dff5a4ca0b4afac",
        "8982e0e549e866db361a6b625d84cccc11162d453ee8ce3a6445c2d6776f0f8b",
    ),
    "sha384": (
        "e06eccdf2c68a06ed034723c9c26e0db3b669e1e2efed49150b55377a2e98f383c86fb836857444654b287c93f51ff64",
        "3b298f16164a11184279d5432bf169e2d2a48307de02b3d3f7e2b4f36eb6f0455a53689a3937eea07319a633d2ccba78",
    ),
    "sha512": (
        (
            "7e4396de5aadc77be853819b98c9406265b3a9c37cc3176569847a4e4f6fba63"
            "dd3a73d04924d31a63f95a601f9385af6be4ed1b37f87d040f7c6ed6f8d38a91"
        ),
        (
            "22a5a36cedfcc085807a128d7bc6c2382167ad6c0dbc5fdff856740f3d84c099"
            "ad1ea87a8db096714d9788bd544047c9021e4229ce27e4c0a69250adfcffbb0b"
        ),
    ),
}


@pytest.mark.parametrize("protocol", PROTOCOLS)
def test_keys_are_those_of_the_standards(protocol: str) -> None:
    """The passphrase maplesyrup gives the published keys, before and after localization.

    Source: RFC 3414 A.3.1 (MD5) and A.3.2 (SHA); the SHA-2 rows follow RFC 7860 section 9.3,
    which prints no vectors, and were computed with pysnmp too.
    """
    key = password_to_key(b"maplesyrup", protocol)
    assert (key.hex(), localize(key, ENGINE, protocol).hex()) == MAPLESYRUP[protocol]
    assert key_octets(protocol) == len(key)


@pytest.mark.parametrize(
    ("protocol", "localized"),
    [
        ("md5", "87021d7bd9d101ba05ea6e3bf9d9bd4a"),
        ("sha1", "78e2dcce79d59403b58c1bbaa5bff46391f1cd25"),
    ],
)
def test_the_new_key_of_the_change_example_is_right(protocol: str, localized: str) -> None:
    """The passphrase newsyrup gives the keys of RFC 3414 A.5.1 and A.5.2."""
    assert localize(password_to_key(b"newsyrup", protocol), ENGINE, protocol).hex() == localized


def test_privacy_keys_are_parts_of_the_localized_key() -> None:
    """DES takes octets 1 to 8 and its pre-IV 9 to 16; AES takes 1 to 16.

    Source: RFC 3414 section 8.1.1.1; RFC 3826, and the instance of RFC 7407 A.3.
    """
    localized = bytes.fromhex(MAPLESYRUP["sha1"][1])
    assert [part.hex() for part in des_key(localized)] == ["6695febc9288e362", "82235fc7151f1284"]
    assert aes_key(localized).hex() == "6695febc9288e36282235fc7151f1284"


@pytest.mark.parametrize("text", [b"bert", b"bertbert", b"bertbertbert"])
def test_a_repeated_pattern_gives_the_key_of_the_pattern(text: bytes) -> None:
    """Source: RFC 3414 section 11.2."""
    assert password_to_key(text, "md5") == password_to_key(b"bert", "md5")


def test_an_empty_passphrase_has_no_key() -> None:
    """Nothing can be repeated to a million octets."""
    with pytest.raises(ValueError, match="empty"):
        password_to_key(b"", "sha1")


@settings(max_examples=12, deadline=None)
@given(
    st.binary(min_size=1, max_size=40),
    st.binary(min_size=5, max_size=32),
    st.sampled_from(PROTOCOLS),
)
def test_keys_agree_with_pysnmp(password: bytes, engine_id: bytes, protocol: str) -> None:
    """A second implementation gives the same keys for any passphrase and engine."""
    theirs = pytest.importorskip("pysnmp.proto.secmod.rfc3414.localkey", reason="pysnmp is not installed")
    octets = pytest.importorskip("pyasn1.type.univ").OctetString
    key, make = password_to_key(password, protocol), getattr(hashlib, protocol)
    assert key == bytes(theirs.hash_passphrase(password, make))
    localized = theirs.localize_key(octets(key), octets(engine_id), make)
    assert localize(key, engine_id, protocol) == bytes(localized)


WORDS = (b"password", b"12345678")
WORD_KEYS = {protocol: tuple(password_to_key(word, protocol) for word in WORDS) for protocol in PROTOCOLS}
CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC), frozenset(), word_keys=WORD_KEYS)


@pytest.mark.parametrize(
    ("protocol", "localized"),
    [
        ("md5", "5f1be5b868b5f16c596a872fad34ae79"),
        ("sha1", "09e84d314543957b1f911257d2388efdc994881f"),
        ("md5", "7be2b0cfeeadc6d3e4ed65b529532d55"),
        ("sha1", "611fe869ea058cede624bcb396a8ef548ba290e9"),
    ],
)
def test_the_key_of_a_known_word_is_found(protocol: str, localized: str) -> None:
    """The keys of password and 12345678 for the engine of RFC 3414 A.3, computed with pysnmp."""
    keys, key = WORD_KEYS[protocol], bytes.fromhex(localized)
    place = next(n for n, known in enumerate(keys) if localize(known, ENGINE, protocol) == key)
    assert place_of_key(keys, key, engine_id=ENGINE, protocol=protocol) == place
    assert place_of_key(keys, key, engine_id=ENGINE + b"\0", protocol=protocol) is None
    assert place_of_key((), key, engine_id=ENGINE, protocol=protocol) is None


def user_and_record(**changes: Any) -> tuple[Settings, Settings]:
    """Return a user with the keys of the word password, and the record it belongs to."""
    key = "09e84d314543957b1f911257d2388efdc994881f"
    user = {
        "auth_protocol": "sha1",
        "auth_secret": {"localized": key},
        "priv_secret": {"localized": key[:32].upper()},
        **changes,
    }
    return user, {"snmp": {"engine_id": "00:00:00:00:00:00 00:00:00:00:00:02", "users": [user]}}


@pytest.mark.parametrize("which", ["auth", "privacy"])
def test_a_passphrase_is_known_by_its_localized_key(which: str) -> None:
    """The key itself for authentication, its head for privacy, however the engine id is written."""
    fact = getattr(snmp, f"snmp_{which}_passphrase_is_well_known")
    assert fact(*user_and_record(), CONTEXT) is True
    other = {"localized": MAPLESYRUP["sha1"][1]}
    assert fact(*user_and_record(auth_secret=other, priv_secret=other), CONTEXT) is False


def test_nothing_is_said_of_a_key_where_its_making_is_not_known() -> None:
    """Without engine id, protocol or the words' keys, a localized key stays unknown."""
    user, record = user_and_record()
    fact = snmp.snmp_auth_passphrase_is_well_known
    assert fact(user, {"snmp": {}}, CONTEXT) is None
    assert fact(user, {}, CONTEXT) is None
    assert fact({**user, "auth_protocol": "none"}, record, CONTEXT) is None
    assert fact({"auth_secret": user["auth_secret"]}, record, CONTEXT) is None
    assert fact(user, record, Context(CONTEXT.as_of)) is None
