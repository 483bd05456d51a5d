"""Services and time servers in a Redfish capture: what each property means in a record."""

from pathlib import Path
from typing import Any

import pytest

from tests.intake.redfish_service import flat, imported, losses, protocols


@pytest.mark.parametrize(
    ("clear", "tls", "expected"),
    [
        (True, False, (True, 21, "none")),
        (True, True, (True, 21, "offered")),
        (False, True, (True, 990, "required")),
        (False, False, (False, 21, None)),
        (True, None, (True, 21, None)),
        (False, None, (False, 21, None)),
        (None, True, (True, 990, None)),
        (None, False, (None, None, None)),
        (None, None, (None, None, None)),
    ],
)
def test_ftp_and_ftps_are_one_service(
    tmp_path: Path, clear: bool | None, tls: bool | None, expected: tuple[Any, ...]
) -> None:
    """Whether FTP is protected is told by the two switches, never by a port."""
    body = {
        name: {"ProtocolEnabled": on, "Port": port}
        for name, on, port in (("FTP", clear, 21), ("FTPS", tls, 990))
        if on is not None
    }
    found = flat(imported(tmp_path, protocols(**body, HostName="card")))
    assert tuple(found.get(f"/services/ftp/{leaf}") for leaf in ("enabled", "port", "tls")) == expected


def test_ftps_at_port_21_is_no_ftp_in_clear(tmp_path: Path) -> None:
    """The standard's own text gives FTPS port 21; the port decides nothing."""
    body = {"FTP": {"ProtocolEnabled": False}, "FTPS": {"ProtocolEnabled": True, "Port": 21}}
    assert flat(imported(tmp_path, protocols(**body)))["/services/ftp/tls"] == "required"


def test_modbus_clients_that_are_names_leave_the_filter_unknown(tmp_path: Path) -> None:
    """A filter short of one client would look tighter than it is."""
    modbus = {
        "ProtocolEnabled": True, "ReadOnly": True, "RestrictAccessToAllowedClients": True,
        "AllowedClients": ["192.0.2.1", "panel.example.net"],
    }  # fmt: skip
    card = imported(tmp_path, protocols(Modbus=modbus))
    assert flat(card) == {
        "/services/modbus_tcp/enabled": True,
        "/services/modbus_tcp/allows_write": False,
    }
    assert losses(card) == {"/Modbus/AllowedClients"}


def test_modbus_open_to_all_says_so(tmp_path: Path) -> None:
    """A filter that is off lets everybody in, whoever is listed."""
    modbus = {"RestrictAccessToAllowedClients": False, "AllowedClients": ["192.0.2.1"]}
    found = flat(imported(tmp_path, protocols(Modbus=modbus)))
    assert found == {"/services/modbus_tcp/allowed_sources": {"any": True}}


def test_ntp_that_is_off_does_not_say_what_sets_the_clock(tmp_path: Path) -> None:
    """The source of time stays unknown; that no server is set is known."""
    found = flat(imported(tmp_path, protocols(NTP={"ProtocolEnabled": False, "NTPServers": ["", None]})))
    assert found == {"/time/servers": []}


def test_absent_and_null_properties_are_unknown(tmp_path: Path) -> None:
    """Absent means not implemented or not exported; null means not known."""
    card = imported(tmp_path, protocols(HostName=None, Telnet={"ProtocolEnabled": None, "Port": None}))
    assert (flat(card), card.lost, card.unmapped) == ({}, (), ())


def test_a_value_of_another_kind_is_lost_without_its_value(tmp_path: Path) -> None:
    """One odd value costs itself, not the record, and is not repeated."""
    card = imported(
        tmp_path, protocols(HTTP={"ProtocolEnabled": "hunter2-yes", "Port": 99999}, SSH={"Port": 22})
    )
    assert flat(card) == {"/services/ssh/port": 22}
    assert losses(card) == {"/HTTP/ProtocolEnabled", "/HTTP/Port"}
    assert "hunter2" not in repr(card)
