"""Recipes for certificates, TLS suites, and the algorithms and host keys of SSH."""

from collections.abc import Iterator
from datetime import timedelta
from typing import Any, Final

from auditor.facts.ssh_names import AlgorithmGrade, cipher_grade, key_exchange_grade, mac_grade
from auditor.facts.tls_names import SuiteGrade, suite_grade
from auditor.procedure.bench import Bench
from auditor.procedure.edit import Edit, EditKind
from auditor.record.settings import Settings

_DAYS_IN_FORCE: Final = 365
"""Validity that the recipe asks for; common practice, no source."""

_GOOD_SUITES: Final = [
    "TLS_AES_128_GCM_SHA256",
    "TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256",
    "TLS_ECDHE_RSA_WITH_AES_128_GCM_SHA256",
]
"""What stands where nothing good is left. Source: RFC 8446 section 9.1; RFC 9325 section 4.2."""

_SSH: Final = (
    ("key_exchange", key_exchange_grade, ["curve25519-sha256"]),
    ("ciphers", cipher_grade, ["aes128-ctr", "aes256-ctr"]),
    ("macs", mac_grade, ["hmac-sha2-256"]),
)
"""Lists, their grading, and what stands where nothing good is left. Source: RFC 9142, RFC 8332,
RFC 6668, RFC 4344 (from memory)."""

_HOST_KEY: Final = "A new host key on this card, Ed25519 (or the best it offers); hand its fingerprint out"


def certificate(record: Settings, _member: tuple[str, ...], bench: Bench) -> Iterator[Edit]:
    """Have a certificate issued by the site's authority, with the card's names, for a new key."""
    moment = bench.context.as_of.replace(microsecond=0)
    names = _names(record)
    issued: dict[str, Any] = {
        "not_before": moment.isoformat(),
        "not_after": (moment + timedelta(days=_DAYS_IN_FORCE + 1)).isoformat(),
        "key_type": "ec",
        "key_bits": 256,
        "signature_hash": "sha256",
        "self_signed": False,
        "is_factory": False,
        **({"subject_names": names} if names else {}),
    }
    wanted = (
        "A certificate issued by the site's own authority for a new key made on the card: curve P-256, "
        f"signed with SHA-256, in force from today for {_DAYS_IN_FORCE} days, naming "
        + (", ".join(names) if names else "the card's full host name")
    )
    yield Edit(("tls", "certificate"), issued, EditKind.ON_PROOF, wanted)


def tls_suites(record: Settings, _member: tuple[str, ...], _bench: Bench) -> Iterator[Edit]:
    """Take the suites that are forbidden or discouraged off the list."""
    bad = (SuiteGrade.FORBIDDEN, SuiteGrade.DISCOURAGED)
    suites = record.get("tls", {}).get("cipher_suites", ())
    kept = [suite for suite in suites if suite_grade(suite) not in bad]
    if len(kept) < len(suites):
        yield Edit(("tls", "cipher_suites"), kept or _GOOD_SUITES)


def ssh_algorithms(record: Settings, _member: tuple[str, ...], _bench: Bench) -> Iterator[Edit]:
    """Take the algorithms that are weak or discouraged off the lists."""
    bad = (AlgorithmGrade.WEAK, AlgorithmGrade.DISCOURAGED)
    for name, grade, good in _SSH:
        offered = record.get("ssh", {}).get(name, ())
        kept = [each for each in offered if grade(each) not in bad]
        if len(kept) < len(offered):
            yield Edit(("ssh", name), kept or good)


def host_key(_record: Settings, member: tuple[str, ...], _bench: Bench) -> Iterator[Edit]:
    """Put a new host key in the place of this one."""
    yield Edit(
        member, {"algorithm": "ssh-ed25519", "bits": 256, "is_factory": False}, EditKind.ON_PROOF, _HOST_KEY
    )


def open_ssh(record: Settings, _member: tuple[str, ...], _bench: Bench) -> Iterator[Edit]:
    """Turn SSH on, for it can take the place of another way in."""
    if record.get("services", {}).get("ssh", {}).get("enabled") is not True:
        yield Edit(("services", "ssh", "enabled"), value=True)


def open_https(record: Settings, _member: tuple[str, ...], _bench: Bench) -> Iterator[Edit]:
    """Turn HTTPS on, for it can take the place of another way in."""
    if record.get("services", {}).get("https", {}).get("enabled") is not True:
        yield Edit(("services", "https", "enabled"), value=True)


def _names(record: Settings) -> list[str]:
    network = record.get("network", {})
    host, domain = network.get("hostname"), network.get("domain")
    addresses = [
        interface["ipv4"]["address"]
        for interface in network.get("interfaces", ())
        if interface.get("enabled") and interface.get("ipv4", {}).get("enabled")
        and interface["ipv4"].get("address", "0.0.0.0") != "0.0.0.0"  # noqa: S104 - unset, not bound
    ]  # fmt: skip
    return [f"{host}.{domain}" if domain else host, *addresses] if host else addresses
