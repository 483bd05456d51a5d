"""Facts on TLS: suites against the standards' own lists, the certificate's days and names."""

import re
import ssl
from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import tls, tls_names
from auditor.facts.fact import Context, Settings
from auditor.facts.tls_names import SuiteGrade, suite_grade
from tests.facts.less_known import thinned

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))

# RFC 9325 section 4.2 names these four for TLS 1.2.
RECOMMENDED = (
    "TLS_ECDHE_RSA_WITH_AES_128_GCM_SHA256",
    "TLS_ECDHE_RSA_WITH_AES_256_GCM_SHA384",
    "TLS_ECDHE_ECDSA_WITH_AES_128_GCM_SHA256",
    "TLS_ECDHE_ECDSA_WITH_AES_256_GCM_SHA384",
)
# Names of the IANA registry "TLS Cipher Suites"; from memory, one or more of each kind.
FORBIDDEN = (
    "TLS_NULL_WITH_NULL_NULL",
    "TLS_RSA_WITH_NULL_SHA256",
    "TLS_ECDHE_RSA_WITH_NULL_SHA",
    "TLS_RSA_WITH_RC4_128_MD5",
    "TLS_ECDHE_RSA_WITH_RC4_128_SHA",
    "TLS_RSA_EXPORT_WITH_RC4_40_MD5",
    "TLS_RSA_EXPORT_WITH_RC2_CBC_40_MD5",
    "TLS_DHE_RSA_EXPORT_WITH_DES40_CBC_SHA",
    "TLS_RSA_WITH_DES_CBC_SHA",
    "TLS_DH_anon_WITH_AES_256_GCM_SHA384",
    "TLS_ECDH_anon_WITH_AES_128_CBC_SHA",
    "TLS_SHA256_SHA256",
)
DISCOURAGED = (
    "TLS_RSA_WITH_AES_128_GCM_SHA256",
    "TLS_RSA_WITH_3DES_EDE_CBC_SHA",
    "TLS_ECDHE_RSA_WITH_3DES_EDE_CBC_SHA",
    "TLS_ECDHE_ECDSA_WITH_AES_128_CBC_SHA256",
    "TLS_ECDH_RSA_WITH_AES_128_GCM_SHA256",
    "TLS_DH_RSA_WITH_AES_128_GCM_SHA256",
    "TLS_DHE_RSA_WITH_AES_256_GCM_SHA384",
    "TLS_RSA_PSK_WITH_AES_128_GCM_SHA256",
    "TLS_PSK_WITH_AES_128_GCM_SHA256",
)


def card(*names: str, **network: Any) -> Settings:
    """Return a card whose certificate has these names; ``...`` leaves a member of the network out."""
    whole = {
        "hostname": "ups-1",
        "domain": "power.example.org",
        "interfaces": [
            {
                "enabled": True,
                "ipv4": {"enabled": True, "address": "192.0.2.7"},
                "ipv6": {"enabled": True, "addresses": [{"address": "2001:db8::7"}]},
            }
        ],
    } | network
    kept = {name: value for name, value in whole.items() if value is not ...}
    return {"tls": {"certificate": {"subject_names": list(names)}}, "network": kept}


@pytest.mark.parametrize("name", RECOMMENDED)
def test_recommended_suites_are_fit(name: str) -> None:
    """The four suites that RFC 9325 section 4.2 recommends are fit."""
    assert suite_grade(name) is SuiteGrade.FIT


@pytest.mark.parametrize("name", FORBIDDEN)
def test_suites_that_the_standard_forbids_are_forbidden(name: str) -> None:
    """RFC 9325 section 4.1 and RFC 7465: NULL, RC4, export, under 112 bits; none without authentication."""
    assert suite_grade(name) is SuiteGrade.FORBIDDEN


@pytest.mark.parametrize("name", DISCOURAGED)
def test_suites_that_the_standard_advises_against_are_discouraged(name: str) -> None:
    """RFC 9325 sections 4.1 and 4.2: triple DES, CBC, static key exchange, DHE."""
    assert suite_grade(name) is SuiteGrade.DISCOURAGED


def test_suites_that_the_tls_library_offers_for_1_3_are_fit() -> None:
    """The names that Python's ssl gives TLS 1.3 suites are IANA names, and none of them is weak."""
    offered = [c["name"] for c in ssl.create_default_context().get_ciphers() if c["protocol"] == "TLSv1.3"]
    assert offered
    assert {suite_grade(name) for name in offered} == {SuiteGrade.FIT}


@pytest.mark.parametrize("name", ["ECDHE-RSA-AES128-GCM-SHA256", "TLS", "TLS_WITH_", "TLS_NEW_SUITE", ""])
def test_a_name_that_is_not_from_the_registry_is_not_graded(name: str) -> None:
    """Nothing is claimed of a name that follows none of the registry's patterns."""
    assert suite_grade(name) is None


def test_every_entry_of_the_tables_follows_the_registry_and_names_its_source() -> None:
    """Whole names look like IANA names; every entry says which document it stands on."""
    whole = {**tls_names.FORBIDDEN_NAMES, **tls_names.TLS_1_3_SUITES, **tls_names.SIGNALLING_NAMES}
    assert all(re.fullmatch(r"TLS_[A-Z0-9]+(_[A-Z0-9]+)+", name) for name in whole)
    parts = (tls_names.FORBIDDEN_PARTS, tls_names.DISCOURAGED_CIPHERS, tls_names.DISCOURAGED_EXCHANGES)
    sources = [source for table in (whole, *parts) for source in table.values()]
    assert all(source.startswith("RFC ") for source in sources)


def test_weak_suites_are_listed_in_the_order_of_the_card() -> None:
    """Both lists keep the card's order and share no suite."""
    record = {"tls": {"cipher_suites": [DISCOURAGED[1], FORBIDDEN[3], RECOMMENDED[0], FORBIDDEN[1]]}}
    assert tls.forbidden_tls_suites(record, CONTEXT) == (FORBIDDEN[3], FORBIDDEN[1])
    assert tls.discouraged_tls_suites(record, CONTEXT) == (DISCOURAGED[1],)


def test_an_ungraded_suite_leaves_the_question_open_only_while_no_weak_one_is_there() -> None:
    """One forbidden suite decides; without one, a name that is not known keeps the answer unknown."""
    assert tls.forbidden_tls_suites({"tls": {"cipher_suites": ["MINE", FORBIDDEN[3]]}}, CONTEXT) == (
        FORBIDDEN[3],
    )
    assert tls.forbidden_tls_suites({"tls": {"cipher_suites": ["MINE", RECOMMENDED[0]]}}, CONTEXT) is None
    assert tls.forbidden_tls_suites({"tls": {"cipher_suites": []}}, CONTEXT) == ()
    assert tls.forbidden_tls_suites({}, CONTEXT) is None


@pytest.mark.parametrize(
    ("text", "days"),
    [
        ("2026-11-25T12:00:00Z", 0),
        ("2026-11-25T11:59:59.999999999Z", -1),
        ("2026-11-26T12:00:00+00:00", 1),
        ("2026-11-26T13:59:59+02:00", 0),
        ("2026-02-30T00:00:00Z", None),
        ("0000-01-01T00:00:00Z", None),
    ],
)
def test_days_left_are_whole_days_rounded_down(text: str, days: int | None) -> None:
    """Before the end 0 or more, after it below 0; a day that no calendar has tells nothing."""
    assert tls.certificate_days_left({"tls": {"certificate": {"not_after": text}}}, CONTEXT) == days


def test_days_in_force_count_from_the_start_of_validity() -> None:
    """The mirror of the days left: below 0 before the start."""
    for text, days in (("2026-11-20T12:00:00Z", 5), ("2026-11-25T12:00:01Z", -1)):
        assert tls.certificate_days_in_force({"tls": {"certificate": {"not_before": text}}}, CONTEXT) == days


def test_a_broken_pem_tells_no_days() -> None:
    """What can't be read is unknown; test_certificate has those that can."""
    record = {"tls": {"certificate": {"pem": "-----BEGIN CERTIFICATE-----"}}}
    assert tls.certificate_days_left(record, CONTEXT) is None
    assert tls.certificate_covers_card(record, CONTEXT) is None


@pytest.mark.parametrize(
    ("names", "covered"),
    [
        (["UPS-1.power.example.org."], True),
        (["ups-1"], True),
        (["*.power.example.org"], True),
        (["192.0.2.7"], True),
        (["2001:0DB8:0:0::7"], True),
        (["other.example.org", "192.0.2.7"], True),
        ([], False),
        (["*.example.org"], False),
        (["*"], False),
        (["power.example.org", "192.0.2.8", "2001:db8::8"], False),
    ],
)
def test_a_certificate_covers_the_card_by_one_fitting_name(names: list[str], covered: bool) -> None:
    """RFC 9525 section 6.3: names without regard to case, a star for exactly one whole first label."""
    assert tls.certificate_covers_card(card(*names), CONTEXT) is covered


def test_an_address_of_an_interface_that_is_off_covers_nothing() -> None:
    """Nobody reaches the card there."""
    off = [{"enabled": False, "ipv4": {"enabled": True, "address": "192.0.2.7"}}]
    assert tls.certificate_covers_card(card("192.0.2.7", interfaces=off), CONTEXT) is False


def test_names_decide_alone_where_the_certificate_holds_no_address() -> None:
    """Unknown addresses leave nothing open when the certificate names hosts only, and the reverse."""
    assert tls.certificate_covers_card(card("other.example.org", interfaces=...), CONTEXT) is False
    assert tls.certificate_covers_card(card("192.0.2.8", hostname=...), CONTEXT) is False
    assert tls.certificate_covers_card(card("other.example.org", domain=...), CONTEXT) is None
    assert tls.certificate_covers_card(card("192.0.2.8", interfaces=...), CONTEXT) is None


@given(
    st.sampled_from(
        [["ups-1.power.example.org"], ["192.0.2.7"], ["2001:db8::7"], ["x.example.org", "192.0.2.9"]]
    ),
    st.data(),
)
def test_more_knowledge_never_turns_the_answer_on_names(names: list[str], data: st.DataObject) -> None:
    """What is decided with less known stays so with all known."""
    whole = card(*names)
    less = data.draw(st.composite(lambda draw: thinned(whole, draw))())
    known = tls.certificate_covers_card(less, CONTEXT)
    assert known is None or known is tls.certificate_covers_card(whole, CONTEXT)
