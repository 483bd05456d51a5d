"""Facts on TLS of the card's own servers: its suites and its certificate."""

from datetime import datetime
from functools import lru_cache
from ipaddress import ip_address
from typing import Any

from auditor.facts.certificate import UNREADABLE, certificate_of, read_pem
from auditor.facts.fact import Context, Settings, fact
from auditor.facts.moment import moment_of
from auditor.facts.tls_names import SuiteGrade, suite_grade

_EMPTY: Settings = {}


@fact(reads=("/tls/cipher_suites",), source="RFC 9325 section 4.1; RFC 7465 section 2")
def forbidden_tls_suites(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """Suites that are answered although the standard forbids them, in the card's order."""
    return _suites_graded(record, SuiteGrade.FORBIDDEN)


@fact(reads=("/tls/cipher_suites",), source="RFC 9325 sections 4.1 and 4.2")
def discouraged_tls_suites(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """Suites that are answered although the standard advises against them, in the card's order."""
    return _suites_graded(record, SuiteGrade.DISCOURAGED)


def _suites_graded(record: Settings, wanted: SuiteGrade) -> tuple[str, ...] | None:
    suites = record.get("tls", _EMPTY).get("cipher_suites")
    return None if suites is None else _graded(tuple(suites), wanted)


@lru_cache(maxsize=256)  # the cards of an estate share a few lists
def _graded(suites: tuple[str, ...], wanted: SuiteGrade) -> tuple[str, ...] | None:
    """Return the suites of a grade; unknown where there are none but some name is not known."""
    grades = [suite_grade(suite) for suite in suites]
    found = tuple(suite for suite, grade in zip(suites, grades, strict=True) if grade is wanted)
    return None if not found and None in grades else found


@fact(
    reads=("/tls/certificate/not_after",),
    source="RFC 5280 section 4.1.2.5 (from memory)",
    unit="days",
    by_day=True,
)
def certificate_days_left(record: Settings, context: Context) -> int | None:
    """Whole days until the certificate expires, rounded down; negative after that."""
    end = _certificate_moment(record, "not_after")
    return None if end is None else (end - context.as_of).days


@fact(
    reads=("/tls/certificate/not_before",),
    source="RFC 5280 section 4.1.2.5 (from memory)",
    unit="days",
    by_day=True,
)
def certificate_days_in_force(record: Settings, context: Context) -> int | None:
    """Whole days since the certificate became valid, rounded down; negative before that."""
    start = _certificate_moment(record, "not_before")
    return None if start is None else (context.as_of - start).days


def _certificate_moment(record: Settings, name: str) -> datetime | None:
    return moment_of(certificate_of(record).get(name))


@fact(reads=("/tls/certificate/key_type",), source="RFC 5280 section 4.1.2.7 (from memory)")
def certificate_key_type(record: Settings, _context: Context) -> str | None:
    """Kind of public key in the certificate."""
    kind: str | None = certificate_of(record).get("key_type")
    return kind


@fact(reads=("/tls/certificate/key_bits",), source="RFC 9325 section 4.5", unit="bits")
def certificate_key_bits(record: Settings, _context: Context) -> int | None:
    """Size of the public key in the certificate."""
    bits: int | None = certificate_of(record).get("key_bits")
    return bits


@fact(reads=("/tls/certificate/signature_hash",), source="RFC 9155; RFC 9325 section 4.5")
def certificate_signature_hash(record: Settings, _context: Context) -> str | None:
    """Hash with which the certificate is signed."""
    used: str | None = certificate_of(record).get("signature_hash")
    return used


@fact(reads=("/tls/certificate/self_signed",), source="RFC 5280 section 3.2 (from memory)")
def certificate_is_self_signed(record: Settings, _context: Context) -> bool | None:
    """Whether the certificate is signed with its own key."""
    own: bool | None = certificate_of(record).get("self_signed")
    return own


@fact(reads=("/tls/certificate/pem", "/tls/certificate"), source="RFC 7468 section 5")
def certificate_is_unreadable(record: Settings, _context: Context) -> bool | None:
    """Whether the PEM text, or a certificate of the chain in it, can't be read; what is spelled out can."""
    certificate = record.get("tls", _EMPTY).get("certificate", _EMPTY)
    if "pem" in certificate:
        return read_pem(certificate["pem"]) is UNREADABLE
    return None if certificate.keys() <= {"is_factory"} else False


@fact(reads=("/tls/certificate/pem", "/tls/certificate"), source="RFC 8446 section 4.4.2 (from memory)")
def certificate_chain_is_broken(record: Settings, _context: Context) -> bool | None:
    """Whether a certificate of the chain is not issued by the next; one alone is no chain."""
    certificate = record.get("tls", _EMPTY).get("certificate", _EMPTY)
    if "pem" in certificate:
        return read_pem(certificate["pem"]).is_broken
    return None if certificate.keys() <= {"is_factory"} else False


@fact(
    reads=(
        "/tls/certificate/subject_names",
        "/network/hostname",
        "/network/domain",
        "/network/interfaces",
    ),
    source="RFC 9525 sections 6.3 and 6.4 (from memory)",
)
def certificate_covers_card(record: Settings, _context: Context) -> bool | None:
    """Whether the certificate names the card: by its host name or by one of its addresses.

    An interface that is off adds no address. Host names are compared without regard to case;
    a star stands for one whole label, the first.
    """
    names = certificate_of(record).get("subject_names")
    if names is None:
        return None
    network = record.get("network", _EMPTY)
    if "domain" in network and f"{network.get('hostname', '')}.{network['domain']}" in names:
        return True  # the usual case, decided without taking the names apart
    addresses = {_plain_address(name) for name in names if _is_address(name)}
    hosts = {name.lower().rstrip(".") for name in names if not _is_address(name)}
    by_name = _covers_host(hosts, network) if hosts else False
    if by_name or not addresses:
        return by_name
    return _either(by_name, _covers_address(addresses, network.get("interfaces")))


def _covers_host(hosts: set[str], network: Settings) -> bool | None:
    """Return whether a name of the card is among the hosts; unknown while its name may be longer."""
    host, domain = network.get("hostname"), network.get("domain")
    if host is None:
        return None
    host = host.lower().rstrip(".")
    names = [host] if domain is None else [host, f"{host}.{domain.lower().strip('.')}"]
    if any(name in hosts or _starred(name) in hosts for name in names):
        return True
    return None if domain is None else False


def _starred(name: str) -> str:
    """Return the name with a star for its first label, or itself where that covers nothing."""
    rest = name.partition(".")[2]
    return f"*.{rest}" if "." in rest else name


def _covers_address(addresses: set[str], interfaces: list[Settings] | None) -> bool | None:
    if interfaces is None:
        return None
    covered: bool | None = False
    for interface in interfaces:
        covered = _either(covered, _interface_covered(addresses, interface))
    return covered


def _interface_covered(addresses: set[str], interface: Settings) -> bool | None:
    four, six = interface.get("ipv4", _EMPTY), interface.get("ipv6", _EMPTY)
    found = six.get("addresses")
    own_six = None if found is None else [entry.get("address") for entry in found]
    covered = _either(
        _if_on(four.get("enabled"), _among([four.get("address")], addresses)),
        _if_on(six.get("enabled"), _among(own_six, addresses)),
    )
    return _if_on(interface.get("enabled"), covered)


def _among(own: list[Any] | None, addresses: set[str]) -> bool | None:
    if own is None:
        return None
    if any(address is not None and _plain_address(address) in addresses for address in own):
        return True
    return None if None in own else False


def _if_on(enabled: bool | None, covered: bool | None) -> bool | None:  # noqa: FBT001 - truths are the data
    """Return Kleene's conjunction: what is off covers nothing."""
    if enabled is False or covered is False:
        return False
    return covered if enabled else None


def _either(one: bool | None, other: bool | None) -> bool | None:  # noqa: FBT001 - truths are the data
    """Return Kleene's disjunction."""
    if one or other:
        return True
    return None if one is None or other is None else False


def _is_address(name: str) -> bool:
    return ":" in name or name.replace(".", "").isdigit()


def _plain_address(text: str) -> str:
    """Return an address in its one short form, without zone; other text as it is."""
    try:
        return str(ip_address(text.partition("%")[0])) if ":" in text else text
    except ValueError:
        return text
