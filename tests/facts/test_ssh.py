"""Facts on SSH: algorithms against the tables of RFC 9142 and RFC 8758."""

import re
from datetime import UTC, datetime

import pytest

from auditor.facts import ssh, ssh_names
from auditor.facts.fact import Context, Fact
from auditor.facts.ssh_names import AlgorithmGrade, cipher_grade, key_exchange_grade, mac_grade

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))
TABLES = (
    ssh_names.WEAK_KEY_EXCHANGES, ssh_names.FIT_KEY_EXCHANGES, ssh_names.WEAK_CIPHERS,
    ssh_names.DISCOURAGED_CIPHERS, ssh_names.FIT_CIPHERS, ssh_names.WEAK_MACS, ssh_names.FIT_MACS,
)  # fmt: skip

# RFC 9142 section 4, as checked in the project's fact sheet, 7.3.
SHOULD_AND_MUST = (
    "curve25519-sha256", "diffie-hellman-group16-sha512", "ecdh-sha2-nistp256", "ecdh-sha2-nistp384",
    "ecdh-sha2-nistp521", "diffie-hellman-group14-sha256",
)  # fmt: skip
MAY = (
    "curve448-sha512", "diffie-hellman-group15-sha512", "diffie-hellman-group17-sha512",
    "diffie-hellman-group18-sha512", "diffie-hellman-group-exchange-sha256", "diffie-hellman-group14-sha1",
)  # fmt: skip
SHOULD_NOT_AND_MUST_NOT = (
    "diffie-hellman-group-exchange-sha1", "diffie-hellman-group1-sha1", "rsa1024-sha1",
    "gss-gex-sha1-toWM5Slw5Ew8Mqkay+al2g==", "gss-group1-sha1-toWM5Slw5Ew8Mqkay+al2g==",
    "gss-group14-sha1-toWM5Slw5Ew8Mqkay+al2g==",
)  # fmt: skip


@pytest.mark.parametrize("name", [*SHOULD_AND_MUST, *MAY])
def test_key_exchanges_that_the_standard_allows_are_fit(name: str) -> None:
    """RFC 9142 section 4: MUST, SHOULD and MAY are no finding."""
    assert key_exchange_grade(name) is AlgorithmGrade.FIT


@pytest.mark.parametrize("name", SHOULD_NOT_AND_MUST_NOT)
def test_key_exchanges_that_the_standard_advises_against_are_weak(name: str) -> None:
    """RFC 9142 section 4: SHOULD NOT and MUST NOT are findings."""
    assert key_exchange_grade(name) is AlgorithmGrade.WEAK


@pytest.mark.parametrize("name", ["arcfour", "arcfour128", "arcfour256"])
def test_rc4_is_weak(name: str) -> None:
    """RFC 8758: MUST NOT."""
    assert cipher_grade(name) is AlgorithmGrade.WEAK


def test_cbc_is_discouraged_and_counter_mode_is_fit() -> None:
    """Grades of the same cipher in two modes; RFC 4344 defines the counter mode."""
    assert cipher_grade("aes256-cbc") is AlgorithmGrade.DISCOURAGED
    assert cipher_grade("aes256-ctr") is AlgorithmGrade.FIT
    assert cipher_grade("3des-cbc") is AlgorithmGrade.WEAK


def test_macs_on_md5_and_cut_ones_are_weak_and_sha2_is_fit() -> None:
    """RFC 6151 on MD5 and RFC 6668 on SHA-2, from memory."""
    assert {mac_grade(name) for name in ("hmac-md5", "hmac-md5-96", "hmac-sha1-96", "none")} == {
        AlgorithmGrade.WEAK
    }
    assert {mac_grade(name) for name in ("hmac-sha2-256", "hmac-sha2-512", "hmac-sha1")} == {
        AlgorithmGrade.FIT
    }


def test_names_follow_the_naming_of_the_protocol() -> None:
    """RFC 4251 section 6: printable, no comma, at most 64 characters, one @ with a domain if any."""
    names = [name for table in TABLES for name in table]
    assert all(len(name) <= 64 and re.fullmatch(r"[!-+\--?A-~]+(@[a-z.]+)?", name) for name in names)


def test_no_name_has_two_grades_and_every_entry_names_its_source() -> None:
    """The tables of a kind share no name."""
    for kind in (TABLES[:2], TABLES[2:5], TABLES[5:]):
        names = [name for table in kind for name in table]
        assert len(names) == len(set(names))
    sources = [source for table in TABLES for source in table.values()]
    assert all(re.search(r"RFC \d+|NIST|FIPS|CVE-|common practice, no source", source) for source in sources)


@pytest.mark.parametrize(
    ("fact", "name", "weak", "fit"),
    [
        (ssh.weak_ssh_key_exchanges, "key_exchange", "rsa1024-sha1", "curve25519-sha256"),
        (ssh.weak_ssh_ciphers, "ciphers", "arcfour", "aes128-cbc"),
        (ssh.discouraged_ssh_ciphers, "ciphers", "aes128-cbc", "arcfour"),
        (ssh.weak_ssh_macs, "macs", "hmac-md5", "hmac-sha2-256"),
    ],
)
def test_weak_names_are_listed_and_unknown_ones_leave_the_question_open(
    fact: Fact, name: str, weak: str, fit: str
) -> None:
    """A weak name decides; without one, a name that is not known keeps the answer unknown."""
    assert fact({"ssh": {name: [fit, weak, "mine@example.org"]}}, CONTEXT) == (weak,)
    assert fact({"ssh": {name: [fit, "mine@example.org"]}}, CONTEXT) is None
    assert fact({"ssh": {name: [fit]}}, CONTEXT) == ()
    assert fact({"ssh": {}}, CONTEXT) is None
    assert fact({}, CONTEXT) is None
