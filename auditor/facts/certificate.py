"""PEM text → what a certificate says of itself, in the words of the record; holds no facts.

A record gives its certificate as PEM, or spelled out. Facts ask ``certificate_of`` and need not
know which. Whether somebody trusts the issuer is not asked: a record holds no list of those.

Source: RFC 5280 section 4; RFC 7468 section 5.
"""

import hashlib
import warnings
from collections.abc import Iterable, Sequence
from functools import lru_cache
from itertools import pairwise
from typing import TYPE_CHECKING, Final, NamedTuple

from auditor.facts.fact import Settings

if TYPE_CHECKING:
    from cryptography.x509 import Certificate

_EMPTY: Settings = {}
_BEGIN: Final = "-----BEGIN CERTIFICATE-----"
_EDWARDS_BITS: Final = {"ed25519": 256, "ed448": 448}
_RSA_WITH_MD5: Final = "1.2.840.113549.1.1.4"
_DSA: Final = ("1.2.840.10040.4.3", "2.16.840.1.101.3.4.3.")
_EDWARDS: Final = ("1.3.101.112", "1.3.101.113")
"""Kinds of signature. Source: RFC 3279 section 2.2, RFC 5758, RFC 8410 (from memory)."""


class Reading(NamedTuple):
    """What PEM text says.

    ``facts`` are those of the first certificate, named as in a record that spells them out, and
    ``public_key_sha256``, the digest of its public key (SubjectPublicKeyInfo), hexadecimal. They
    are empty where some certificate of the text can't be read. ``chain_length`` counts the
    certificates; ``is_broken`` says whether one of them is not issued by the next.
    """

    facts: Settings
    chain_length: int
    is_broken: bool | None


UNREADABLE: Final = Reading(_EMPTY, 0, None)


def certificate_of(record: Settings) -> Settings:
    """Return the certificate that a card shows, spelled out; empty where nothing is known of it."""
    certificate: Settings = record.get("tls", _EMPTY).get("certificate", _EMPTY)
    return read_pem(certificate["pem"]).facts if "pem" in certificate else certificate


@lru_cache(maxsize=256)  # the facts of a card ask one after the other
def read_pem(text: str) -> Reading:
    """Read a certificate, or a chain with the card's own first."""
    from cryptography.x509 import load_pem_x509_certificates  # slow import, needed for PEM only

    with warnings.catch_warnings():  # oddities of old certificates are no news to the user here
        warnings.simplefilter("ignore")
        try:
            chain = load_pem_x509_certificates(text.encode())
            if len(chain) != text.count(_BEGIN):
                return UNREADABLE
            return Reading(_facts(chain[0]), len(chain), _is_broken(chain))
        except ValueError:
            return UNREADABLE


def _facts(certificate: "Certificate") -> Settings:
    from cryptography.hazmat.primitives.hashes import SHA256

    known = {
        "subject": certificate.subject.rfc4514_string(),
        "issuer": certificate.issuer.rfc4514_string(),
        "not_before": certificate.not_valid_before_utc.isoformat(),
        "not_after": certificate.not_valid_after_utc.isoformat(),
        "signature_hash": _signature_hash(certificate),
        "self_signed": _is_signed_by(certificate, certificate),
        "subject_names": tuple(_subject_names(certificate)),
        "serial_number": f"{certificate.serial_number:x}",
        "fingerprint_sha256": certificate.fingerprint(SHA256()).hex(),
        **_key_facts(certificate),
    }
    return {name: value for name, value in known.items() if value is not None}


def _key_facts(certificate: "Certificate") -> Settings:
    """Return kind, size and digest of the public key; nothing of a kind that is not known here."""
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric import dsa, ec, ed448, ed25519, rsa
    from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat

    try:
        key = certificate.public_key()
    except UnsupportedAlgorithm:
        return _EMPTY
    kinds = {
        "rsa": rsa.RSAPublicKey, "ec": ec.EllipticCurvePublicKey, "dsa": dsa.DSAPublicKey,
        "ed25519": ed25519.Ed25519PublicKey, "ed448": ed448.Ed448PublicKey,
    }  # fmt: skip
    kind = next((name for name, form in kinds.items() if isinstance(key, form)), None)
    if kind is None:
        return _EMPTY
    shown = key.public_bytes(Encoding.DER, PublicFormat.SubjectPublicKeyInfo)
    bits = getattr(key, "key_size", None) or _EDWARDS_BITS[kind]
    return {"key_type": kind, "key_bits": bits, "public_key_sha256": hashlib.sha256(shown).hexdigest()}


def _signature_hash(certificate: "Certificate") -> str | None:
    """Return the hash of the signature, ``none`` where the algorithm brings its own."""
    from cryptography.exceptions import UnsupportedAlgorithm

    try:
        used = certificate.signature_hash_algorithm
    except UnsupportedAlgorithm:
        return None
    return "none" if used is None else used.name


def _subject_names(certificate: "Certificate") -> Iterable[str]:
    """Return the host names and addresses of the subject alternative name, in their order."""
    from cryptography.x509 import DNSName, ExtensionNotFound, IPAddress, SubjectAlternativeName

    try:
        names = certificate.extensions.get_extension_for_class(SubjectAlternativeName).value
    except ExtensionNotFound:
        return ()
    return [str(name.value) for name in names if isinstance(name, DNSName | IPAddress)]


def _is_broken(chain: Sequence["Certificate"]) -> bool | None:
    """Return whether some certificate of a chain is not issued by the next one."""
    links = {one.issuer == other.subject and _is_signed_by(one, other) for one, other in pairwise(chain)}
    return True if False in links else None if None in links else False


def _is_signed_by(certificate: "Certificate", signer: "Certificate") -> bool | None:
    """Return whether the key of one certificate made the signature of another.

    None where the algorithm can't be checked here.
    """
    from cryptography.exceptions import InvalidSignature, UnsupportedAlgorithm

    try:
        _verify(certificate, signer)
    except UnsupportedAlgorithm:
        return None
    except (InvalidSignature, TypeError, ValueError):  # the last two: a key of another kind
        return False
    return True


def _verify(certificate: "Certificate", signer: "Certificate") -> None:
    """Verify a signature whoever is named as issuer.

    Raises:
        InvalidSignature, TypeError, ValueError: if the key did not make it.
        UnsupportedAlgorithm: if nobody can tell.
    """
    from cryptography.exceptions import UnsupportedAlgorithm
    from cryptography.hazmat.primitives.asymmetric import dsa, ec, ed448, ed25519, padding, rsa

    kind = certificate.signature_algorithm_oid.dotted_string
    key, used = signer.public_key(), certificate.signature_algorithm_parameters
    digest = certificate.signature_hash_algorithm
    signed = certificate.signature, certificate.tbs_certificate_bytes
    if kind == _RSA_WITH_MD5:
        used = padding.PKCS1v15()  # the library tells the hash of it, but not the padding
    match key:
        case rsa.RSAPublicKey() if isinstance(used, padding.PKCS1v15 | padding.PSS) and digest:
            key.verify(*signed, used, digest)
        case ec.EllipticCurvePublicKey() if isinstance(used, ec.ECDSA):
            key.verify(*signed, used)
        case dsa.DSAPublicKey() if kind.startswith(_DSA) and digest:
            key.verify(*signed, digest)
        case ed25519.Ed25519PublicKey() | ed448.Ed448PublicKey() if kind in _EDWARDS:
            key.verify(*signed)
        case _ if used is None and kind not in _EDWARDS and not kind.startswith(_DSA):
            message = "a kind of signature that is not known here"
            raise UnsupportedAlgorithm(message)
        case _:
            message = "a signature of another kind than the key"
            raise TypeError(message)
