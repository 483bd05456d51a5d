"""Destinations of events in a Redfish capture: receivers, collectors, mail."""

from pathlib import Path

import pytest

from tests.intake.redfish_service import EVENTS, MANAGER, destination, flat, imported, losses, resource


@pytest.mark.parametrize(
    ("text", "host", "port"),
    [
        ("syslog://logs.example.net:514", "logs.example.net", 514),
        ("syslog://[2001:db8::5]:601", "2001:db8::5", 601),
        ("192.0.2.4", "192.0.2.4", None),
        ("2001:db8::5", "2001:db8::5", None),
        ("syslog://192.0.2.300:514", None, 514),
        ("syslog://10.1.2:514", None, 514),
        ("syslog://[2001:db8]:514", None, 514),
        ("syslog://a b", None, None),
        ("://", None, None),
    ],
)
def test_a_collectors_address_is_taken_apart(
    tmp_path: Path, text: str, host: str | None, port: int | None
) -> None:
    """Names, both kinds of address, ports; what is malformed is lost, the rest of it kept."""
    card = imported(tmp_path, destination(1, Protocol="SyslogTCP", Destination=text))
    found = flat(card)
    assert found.pop("/log/collectors/0/transport") == "tcp"
    assert (found.get("/log/collectors/0/host"), found.get("/log/collectors/0/port")) == (host, port)
    assert losses(card) == (set() if host else {"/Destination"})


def test_what_stands_before_the_at_of_a_v2c_receiver_is_a_secret(tmp_path: Path) -> None:
    """A community in a URI is a community: in no name, no message, no place.

    Source: RFC 4088 section 2.
    """
    card = imported(
        tmp_path, destination(1, Protocol="SNMPv2c", Destination="snmp://tide-41-Gate@nms.example.net")
    )
    assert flat(card)["/snmp/receivers/0/community"] == {"clear": "tide-41-Gate"}
    assert "/snmp/receivers/0/user" not in flat(card)
    shown = repr((card.origins, card.lost, card.unmapped, card.card_id))
    assert "tide-41-Gate" not in shown


def test_a_destination_is_in_use_unless_something_says_otherwise(tmp_path: Path) -> None:
    """A subscription that exists is served; its state, or the service, may say that it is not."""
    at = "/mail/recipients/0/enabled"
    mail = {"Protocol": "SMTP", "Destination": "mailto:duty@example.net"}
    on, off = (resource(EVENTS, "EventService", ServiceEnabled=flag) for flag in (True, False))
    assert at not in flat(imported(tmp_path, destination(1, **mail)))
    assert flat(imported(tmp_path, on, destination(1, **mail)))[at] is True
    assert flat(imported(tmp_path, off, destination(1, **mail)))[at] is False
    assert flat(imported(tmp_path, on, destination(1, **mail, Status={"State": "Disabled"})))[at] is False


@pytest.mark.parametrize(
    ("own", "policy", "expected"),
    [(True, None, True), (False, None, False), (None, None, False), (None, True, None), (False, True, None)],
)
def test_whether_a_collector_is_verified(
    tmp_path: Path, own: bool | None, policy: bool | None, expected: bool | None
) -> None:
    """Absent is false by the standard, unless the manager's policy may add the check.

    Source: DSP0268, EventDestination, VerifyCertificate.
    """
    body = {} if own is None else {"VerifyCertificate": own}
    client = {"Client": {"VerifyCertificate": policy}}
    found = flat(
        imported(
            tmp_path,
            resource(f"{MANAGER}/SecurityPolicy", "SecurityPolicy", TLS=client),
            destination(1, Protocol="SyslogTLS", Destination="syslog://logs.example.net", **body),
        )
    )
    assert found.get("/log/collectors/0/verify_certificate") == expected
