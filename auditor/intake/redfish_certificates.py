"""Certificate and SecurityPolicy → the TLS of the manager's own servers.

Source: DMTF DSP0268, Certificate to v1_6, SecurityPolicy v1_0.
"""

import re
from collections.abc import Sequence

from auditor.intake.fitting import misfit
from auditor.intake.redfish_resource import Reader

_PEM = re.compile(r"-----BEGIN CERTIFICATE-----[A-Za-z0-9+/=\s]*-----END CERTIFICATE-----")
_CERTIFICATE = "/tls/certificate"
"""Put as a whole: a PEM and what is said of a certificate shut each other out."""
_MEMBERS = {"/ValidNotBefore": "not_before", "/ValidNotAfter": "not_after", "/SerialNumber": "serial_number"}
_NAMES = (
    ("CommonName", "CN"),
    ("OrganizationalUnit", "OU"),
    ("Organization", "O"),
    ("City", "L"),
    ("State", "ST"),
    ("Country", "C"),
)
_HASH = re.compile(r"(md5|sha1|sha224|sha256|sha384|sha512)", re.IGNORECASE)
_VERSIONS = {"1.0": "tls_1_0", "1.1": "tls_1_1", "1.2": "tls_1_2", "1.3": "tls_1_3"}
_ALL, _NONE = "ALL", "NONE"


def read_certificate(certificates: Sequence[Reader]) -> None:
    """Take the certificate of HTTPS: its PEM if there is one, else what the resource says of it.

    The two need not agree, and the PEM is what the service shows.
    """
    for other in certificates[1:]:
        other.lose("", "a record holds one certificate, and this is not the first")
    if not certificates:
        return
    certificate = certificates[0]
    text = certificate.text("/CertificateString") or ""
    if "PRIVATE KEY" in text:
        certificate.lose("/CertificateString", "holds a private key, which was left out")
    chain = "\n".join(_PEM.findall(text))
    if chain and certificate.put(_CERTIFICATE, {"pem": f"{chain}\n"}, "/CertificateString"):
        certificate.skip("")
    else:
        certificate.put(_CERTIFICATE, _members(certificate) or None, "")


def _members(certificate: Reader) -> dict[str, str]:
    """Return what the resource says of the certificate; what does not fit a record is lost."""
    told: dict[str, tuple[str, str | None]] = {
        leaf: (at, certificate.text(at)) for at, leaf in _MEMBERS.items()
    }
    told["subject"] = ("/Subject", _distinguished_name(certificate, "/Subject"))
    told["issuer"] = ("/Issuer", _distinguished_name(certificate, "/Issuer"))
    found = _HASH.search((certificate.text("/SignatureAlgorithm") or "").replace("-", ""))
    told["signature_hash"] = ("/SignatureAlgorithm", found[1].lower() if found else None)
    if (certificate.text("/FingerprintHashAlgorithm") or "").upper().endswith("SHA256"):
        told["fingerprint_sha256"] = ("/Fingerprint", certificate.text("/Fingerprint"))
    members: dict[str, str] = {}
    for leaf, (at, value) in told.items():
        why = misfit(_CERTIFICATE, {leaf: value}) if value else ""
        if why:
            certificate.lose(at, why)
        elif value:
            members[leaf] = value
    return members


def _distinguished_name(certificate: Reader, at: str) -> str | None:
    """Return a name in the order of RFC 4514, the most particular part first."""
    parts = [(short, certificate.text(f"{at}/{name}")) for name, short in _NAMES]
    return ",".join(f"{short}={_escaped(part)}" for short, part in parts if part) or None


def _escaped(part: str) -> str:
    r"""Return a value as RFC 4514 section 2.4 writes it: a backslash before what would end it."""
    return re.sub(r'([,+"\\<>;])', r"\\\1", part)


def read_tls_policy(policy: Reader) -> None:
    """Take what the manager's own servers allow, less what they deny."""
    at = "/TLS/Server"
    versions = _allowed(policy, at, "Versions")
    if versions is not None:
        known = [_VERSIONS[version] for version in versions if version in _VERSIONS]
        if len(known) < len(versions):
            policy.lose(f"{at}/Allowed/Versions", "a version with no place in a record")
        else:
            policy.put("/tls/versions", known, f"{at}/Allowed/Versions")
    suites = _allowed(policy, at, "Algorithms/CipherSuites")
    if suites is not None:
        policy.put("/tls/cipher_suites", suites, f"{at}/Allowed/Algorithms/CipherSuites")


def _allowed(policy: Reader, at: str, name: str) -> list[str] | None:
    """Return what is allowed and not denied, each once; None if it is not told in so many words.

    An empty list, or ALL, allows whatever the manager can do, which is not told.
    """
    allowed = policy.texts(f"{at}/Allowed/{name}")
    denied = {text for _, text in policy.texts(f"{at}/Denied/{name}") or ()}
    if allowed is None:
        return None
    words = list(dict.fromkeys(text for _, text in allowed if text not in denied))
    if not allowed or _ALL in words or _ALL in denied:
        policy.lose(f"{at}/Allowed/{name}", "whatever the manager can do, without saying what")
        return None
    return [word for word in words if word != _NONE]


def verifies_servers(policy: Reader | None) -> bool | None:
    """Tell whether the manager, as a client of TLS, checks certificates; None if it is not told."""
    return policy.flag("/TLS/Client/VerifyCertificate") if policy else None
