"""Certificates in PEM: made here, read back, and compared with the openssl command."""

import hashlib
import random
import re
import shutil
import subprocess
from collections.abc import Mapping
from datetime import UTC, datetime, timedelta
from functools import cache
from ipaddress import ip_address
from itertools import permutations
from typing import Any, Final, NamedTuple

import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import dsa, ec, ed448, ed25519, rsa, x25519
from cryptography.x509.oid import NameOID
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.facts import tls
from auditor.facts.certificate import UNREADABLE, certificate_of, read_pem
from auditor.facts.fact import Context, Settings

AS_OF: Final = datetime(2026, 11, 25, 12, tzinfo=UTC)
CONTEXT: Final = Context(AS_OF)
START: Final = AS_OF - timedelta(days=100, hours=3)
END: Final = AS_OF + timedelta(days=40, hours=5)
NAMES: Final = ("card-7.example.net", "192.0.2.7", "2001:db8::7")
OPENSSL: Final = shutil.which("openssl")

KEYS: Final[Mapping[str, Any]] = {
    "rsa": lambda: rsa.generate_private_key(65537, 2048),
    "ec": lambda: ec.generate_private_key(ec.SECP256R1()),
    "ed25519": ed25519.Ed25519PrivateKey.generate,
    "ed448": ed448.Ed448PrivateKey.generate,
    "dsa": lambda: dsa.generate_private_key(1024),  # noqa: S505 - as short as old cards have it
}
BITS: Final = {"rsa": 2048, "ec": 256, "ed25519": 256, "ed448": 448, "dsa": 1024}


@cache
def key(kind: str, number: int) -> Any:  # noqa: ARG001 - one of five kinds; the number tells keys apart
    """Return a private key of a kind, always the same for a number."""
    return KEYS[kind]()


class Made(NamedTuple):
    """A certificate made for a test, and the key that it is about."""

    certificate: x509.Certificate
    private: Any

    @property
    def pem(self) -> str:
        """Return the certificate as PEM text."""
        return self.certificate.public_bytes(serialization.Encoding.PEM).decode()


def name(text: str) -> x509.Name:
    """Return a distinguished name of one common name."""
    return x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, text)])


def made(
    subject: str = "card-7.example.net", kind: str = "ec", *, number: int = 0,
    issuer: Made | None = None, **options: Any,
) -> Made:  # fmt: skip
    """Make a certificate: signed by an issuer, or by its own key if there is none."""
    private = key(kind, number)
    signer = issuer.private if issuer else private
    named = issuer.certificate.subject if issuer else name(options.get("issued_as", subject))
    builder = (
        x509.CertificateBuilder()
        .subject_name(name(subject))
        .issuer_name(named)
        .public_key(options.get("about", private.public_key()))
        .serial_number(0x1F7)
        .not_valid_before(START)
        .not_valid_after(END)
    )
    if options.get("names", NAMES):
        builder = builder.add_extension(x509.SubjectAlternativeName(alternatives(NAMES)), critical=False)
    bare = isinstance(signer, ed25519.Ed25519PrivateKey | ed448.Ed448PrivateKey)
    return Made(builder.sign(signer, None if bare else options.get("digest", hashes.SHA256())), private)


def alternatives(names: tuple[str, ...]) -> list[x509.GeneralName]:
    """Return names as a certificate holds them: the first is a host, the others are addresses."""
    return [x509.DNSName(names[0]), *(x509.IPAddress(ip_address(text)) for text in names[1:])]


def card(certificate: Settings) -> Settings:
    """Return a card that shows a certificate."""
    network = {"hostname": "card-7", "domain": "example.net", "interfaces": []}
    return {"tls": {"certificate": certificate}, "network": network}


FACTS: Final = (
    tls.certificate_days_left, tls.certificate_days_in_force, tls.certificate_key_type,
    tls.certificate_key_bits, tls.certificate_signature_hash, tls.certificate_is_self_signed,
    tls.certificate_covers_card, tls.certificate_is_unreadable, tls.certificate_chain_is_broken,
)  # fmt: skip


# Made with the openssl command: RSA 1024, MD5, signed with its own key. Its key was not kept.
OLD: Final = """\
-----BEGIN CERTIFICATE-----
MIIB0jCCATugAwIBAgIBATANBgkqhkiG9w0BAQQFADAPMQ0wCwYDVQQDDARjYXJk
MB4XDTEwMDEwMTAwMDAwMFoXDTIwMDEwMTAwMDAwMFowDzENMAsGA1UEAwwEY2Fy
ZDCBnzANBgkqhkiG9w0BAQEFAAOBjQAwgYkCgYEAtxaRWkoR4fJy/1ceUAmQcTS9
LAtmko+bdtuF9EGQv09RfMXy62nhEI/kMKzQF5jCckuujv4LMKjDmJjTebyilkw/
uJlrOajCuDbupkPKJRvU9QsfyloyNj1PjNINg6QoW25meQ0t9U4iuyUA4cQafQ4/
oF/10tAZBdcvLih6nKMCAwEAAaM+MDwwGwYDVR0RBBQwEoIQY2FyZC5leGFtcGxl
LmNvbTAdBgNVHQ4EFgQUlU+AiHsaIlzAP5ZOFhNUilCDCIUwDQYJKoZIhvcNAQEE
BQADgYEAP/Nzl2+OW8StVNo0gYwyJ7JlW3n9jzFjBldzNXJYIjm0t9pJbxctM2wo
UwLuapiR+vGGWycIiE+uYse/gT4kl84lk+fPKMKf9M8btEM3pWOXdLz7HKTKDrnI
Wlv1ix1Z4oshGrGGqvU8tlW7bNcdpS6S+rs1+3P9YLiSUZDF2kQ=
-----END CERTIFICATE-----
"""


def test_an_old_signature_is_still_checked() -> None:
    """The library makes no MD5 signatures any more; an old card may still show one."""
    facts = read_pem(OLD).facts
    assert (facts["signature_hash"], facts["key_bits"], facts["self_signed"]) == ("md5", 1024, True)
    assert read_pem(OLD + made(kind="rsa").pem).is_broken is True


@pytest.mark.parametrize(("signer", "about"), [*permutations(KEYS, 2)])
def test_a_key_of_another_kind_made_no_signature(signer: str, about: str) -> None:
    """Whatever the two kinds are: known to be not self-signed, not merely unknown."""
    issuer = made(kind=signer, number=1)
    assert read_pem(made(kind=about, issuer=issuer).pem).facts["self_signed"] is False


@pytest.mark.parametrize("kind", KEYS)
def test_a_certificate_says_the_same_in_pem_and_spelled_out(kind: str) -> None:
    """Every fact of a record with the PEM equals that of a record with what was put into it."""
    spelled = {
        "not_before": START.isoformat(), "not_after": END.isoformat(), "key_type": kind,
        "key_bits": BITS[kind], "self_signed": True, "subject_names": list(NAMES),
        "signature_hash": "none" if kind.startswith("ed") else "sha256",
    }  # fmt: skip
    given_as_pem, given_spelled = card({"pem": made(kind=kind).pem}), card(spelled)
    found = [fact(given_as_pem, CONTEXT) for fact in FACTS]
    assert found == [fact(given_spelled, CONTEXT) for fact in FACTS]
    assert found == [40, 100, kind, BITS[kind], spelled["signature_hash"], True, True, False, False]


@pytest.mark.parametrize("kind", KEYS)
def test_a_certificate_signed_by_another_key_is_not_self_signed(kind: str) -> None:
    """Not even where both bear the same name."""
    authority = made("Example CA", kind, number=1)
    assert read_pem(made(kind="ec", issuer=authority).pem).facts["self_signed"] is False
    namesake = made("card-7.example.net", kind, number=1)
    assert read_pem(made(kind="ec", number=2, issuer=namesake).pem).facts["self_signed"] is False


def test_a_certificate_signed_with_its_own_key_is_self_signed_under_any_name() -> None:
    """What decides is the key, not the name of the issuer."""
    assert read_pem(made(issued_as="Example CA").pem).facts["self_signed"] is True


@pytest.mark.parametrize(("digest", "word"), [(hashes.SHA384(), "sha384"), (hashes.SHA512(), "sha512")])
def test_the_hash_of_the_signature_is_named(digest: hashes.HashAlgorithm, word: str) -> None:
    """In the words of the record."""
    assert read_pem(made(digest=digest).pem).facts["signature_hash"] == word


def test_a_certificate_without_alternative_names_covers_nothing() -> None:
    """The common name is no name for this purpose (RFC 9525 section 1.2, from memory)."""
    record = card({"pem": made(names=()).pem})
    assert certificate_of(record)["subject_names"] == ()
    assert tls.certificate_covers_card(record, CONTEXT) is False


def test_a_key_that_signs_nothing_leaves_kind_and_size_open() -> None:
    """A kind of key that a record has no word for is unknown; the rest is told."""
    authority = made("Example CA")
    odd = made(issuer=authority, about=x25519.X25519PrivateKey.generate().public_key())
    record = card({"pem": odd.pem})
    assert tls.certificate_key_type(record, CONTEXT) is None
    assert tls.certificate_key_bits(record, CONTEXT) is None
    assert tls.certificate_days_left(record, CONTEXT) == 40


def test_a_chain_is_whole_where_each_is_issued_by_the_next() -> None:
    """In the order in which a server sends it: its own first (RFC 8446 section 4.4.2)."""
    root = made("Example Root", "rsa", number=1)
    between = made("Example CA", "ec", number=2, issuer=root)
    own = made(issuer=between)
    other = made("Example CA", "ec", number=3)
    texts = own.pem + between.pem + root.pem, own.pem, own.pem + root.pem
    assert [read_pem(text)[1:] for text in texts] == [(3, False), (1, False), (2, True)]
    assert read_pem(own.pem + other.pem).is_broken is True  # the right name, the wrong key
    assert tls.certificate_chain_is_broken(card({"pem": own.pem + other.pem}), CONTEXT) is True
    assert read_pem(own.pem + between.pem).facts == read_pem(own.pem).facts


@pytest.mark.parametrize("kind", KEYS)
def test_the_digest_of_the_public_key_tells_cards_that_share_it(kind: str) -> None:
    """Two certificates about one key have one digest: that of SubjectPublicKeyInfo (RFC 5280)."""
    shown = (
        key(kind, 0)
        .public_key()
        .public_bytes(serialization.Encoding.DER, serialization.PublicFormat.SubjectPublicKeyInfo)
    )
    one, other = read_pem(made("a.example.net", kind).pem), read_pem(made("b.example.net", kind).pem)
    assert one.facts["fingerprint_sha256"] != other.facts["fingerprint_sha256"]
    digests = one.facts["public_key_sha256"], other.facts["public_key_sha256"]
    assert digests == (hashlib.sha256(shown).hexdigest(),) * 2


def broken_texts() -> list[str]:
    """Return texts that begin like a certificate and are none."""
    pem = made().pem
    begin, end = "-----BEGIN CERTIFICATE-----\n", "-----END CERTIFICATE-----\n"
    return [
        begin, begin + end, begin + "AAAA\n" + end, begin + "no base64 !\n" + end, pem[:200],
        pem.replace("M", "N", 1), pem + begin, pem + begin + "AAAA\n" + end, pem + pem[:100] + end,
    ]  # fmt: skip


@pytest.mark.parametrize("text", broken_texts(), ids=range(len(broken_texts())))
def test_what_can_not_be_read_is_unknown_and_said(text: str) -> None:
    """Also where only a later certificate of the chain is spoilt."""
    record = card({"pem": text, "is_factory": False})
    assert read_pem(text) is UNREADABLE
    assert tls.certificate_is_unreadable(record, CONTEXT) is True
    assert {fact(record, CONTEXT) for fact in FACTS if fact is not tls.certificate_is_unreadable} == {None}


@pytest.mark.parametrize("record", [{}, {"tls": {}}, card({}), card({"is_factory": True})])
def test_a_certificate_that_was_not_captured_is_unknown(record: Settings) -> None:
    """A word on its origin may go with either form, so it tells nothing of the form."""
    assert {fact(record, CONTEXT) for fact in FACTS} == {None}


@given(st.integers(0, 2**32), st.integers(1, 8))
@settings(max_examples=200, deadline=None)
def test_no_spoilt_text_raises(seed: int, changes: int) -> None:
    """Characters changed, cut or doubled at random: read, or unreadable, but no other end."""
    dice = random.Random(seed)  # noqa: S311 - made-up data
    text = list(made().pem + made("Example CA", number=1).pem)
    for _ in range(changes):
        place = dice.randrange(28, len(text))
        text[place : place + dice.choice((0, 1, 1, 1, 40))] = dice.choice(("", "A", "-", "é", "\n", "//"))
    assert isinstance(read_pem("".join(text)).facts, dict)


needs_openssl = pytest.mark.skipif(OPENSSL is None, reason="the openssl command is not installed here")


def openssl(pem: str, *options: str) -> str:
    """Return what the openssl command says of a certificate."""
    command = [str(OPENSSL), "x509", "-noout", *options]
    done = subprocess.run(command, input=pem, capture_output=True, text=True, check=True)  # noqa: S603
    return done.stdout


@needs_openssl
@pytest.mark.parametrize("kind", KEYS)
def test_openssl_reads_the_same(kind: str) -> None:
    """Dates, serial number, fingerprint and size of the key, against an independent program."""
    pem = made(kind=kind).pem
    facts = read_pem(pem).facts
    said = openssl(pem, "-serial", "-fingerprint", "-sha256", "-startdate", "-enddate", "-text")
    moments = [datetime.strptime(text, "%b %d %H:%M:%S %Y %Z").replace(tzinfo=UTC)
               for text in re.findall(r"^not(?:Before|After)=(.*)$", said, re.MULTILINE)]  # fmt: skip
    assert [moment.isoformat() for moment in moments] == [facts["not_before"], facts["not_after"]]
    assert int(re.findall(r"^serial=(.*)$", said, re.MULTILINE)[0], 16) == int(facts["serial_number"], 16)
    (print_,) = re.findall(r"Fingerprint=(.*)$", said, re.MULTILINE)
    assert print_.replace(":", "").lower() == facts["fingerprint_sha256"]
    sizes = re.findall(r"(?:Public-Key|ED\w+ Public-Key): ?\(?(\d+)? ?bit", said)
    assert [int(size) for size in sizes] == ([] if kind.startswith("ed") else [facts["key_bits"]])


@needs_openssl
def test_openssl_reads_the_same_names() -> None:
    """Host name and addresses of the subject alternative name."""
    said = openssl(made().pem, "-ext", "subjectAltName")
    hosts = re.findall(r"DNS:([^,\s]+)", said)
    addresses = [str(ip_address(text.lower())) for text in re.findall(r"IP Address:([^,\s]+)", said)]
    assert [*hosts, *addresses] == list(NAMES)
