"""Facts on mail: the domain of a recipient."""

from datetime import UTC, datetime

import pytest

from auditor.facts import mail
from auditor.facts.fact import Context

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC))


@pytest.mark.parametrize(
    ("address", "domain"),
    [
        ("duty@example.org", "example.org"),
        ("Duty.Officer@Example.ORG", "example.org"),
        ("duty@example.org.", "example.org"),
        ('"a@b"@example.net', "example.net"),
    ],
)
def test_the_domain_follows_the_last_at_sign(address: str, domain: str) -> None:
    """RFC 5321 section 2.3.11: a domain has no case; a quoted local part may hold an at sign."""
    assert mail.mail_recipient_domain({"address": address}, {}, CONTEXT) == domain


def test_a_recipient_without_an_address_has_no_known_domain() -> None:
    """Absent is unknown."""
    assert mail.mail_recipient_domain({}, {}, CONTEXT) is None
