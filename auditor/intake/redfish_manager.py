"""Manager, SerialInterface and LogService → the card itself, its clock, console and log.

Source: DMTF DSP0268, Manager to v1_17, SerialInterface v1_1, LogService to v1_4.
"""

import re
from collections.abc import Sequence

from auditor.intake.redfish_resource import Reader

_OFFSET = re.compile(r"([+-])([0-9]{2}):([0-9]{2})")
_ZONES = ("UTC", "GMT")


def read_manager(manager: Reader) -> None:
    """Take firmware, serial number and clock."""
    manager.copy("/FirmwareVersion", "/card/firmware_version")
    manager.copy("/SerialNumber", "/card/serial_number")
    manager.copy("/DateTime", "/capture/card_clock")
    _read_offset(manager)
    _read_zone(manager)


def _read_offset(manager: Reader) -> None:
    text = manager.text("/DateTimeLocalOffset")
    if not text:
        return
    found = _OFFSET.fullmatch(text.replace("Z", "+00:00"))
    if found is None:
        manager.lose("/DateTimeLocalOffset", "expected an offset such as +01:00")
        return
    minutes = int(found[2]) * 60 + int(found[3])
    manager.put("/time/utc_offset_min", -minutes if found[1] == "-" else minutes, "/DateTimeLocalOffset")


def _read_zone(manager: Reader) -> None:
    """Take the time zone if it is a name; the standard also allows the short form of the database."""
    zone = manager.text("/TimeZoneName")
    if not zone:
        return
    if "/" in zone or zone in _ZONES:
        manager.put("/time/timezone", zone, "/TimeZoneName")
    else:
        manager.lose("/TimeZoneName", "no name of a zone, such as Europe/Berlin")


def read_serial_console(interfaces: Sequence[Reader]) -> None:
    """Take whether a serial port is on: one that is on is enough, all must be off."""
    told = [(reader, reader.flag("/InterfaceEnabled")) for reader in interfaces]
    on = [reader for reader, enabled in told if enabled]
    if on:
        on[0].put("/services/serial_console/enabled", value=True, at="/InterfaceEnabled")
    elif told and all(enabled is False for _, enabled in told):
        told[0][0].put("/services/serial_console/enabled", value=False, at="/InterfaceEnabled")


def read_log(services: Sequence[Reader]) -> None:
    """Take the capacity of the log; of several, that of the smallest, which is overwritten first."""
    at = "/MaxNumberOfRecords"
    running = [reader for reader in services if reader.flag("/ServiceEnabled") is not False]
    sizes = [(size, index) for index, one in enumerate(running) if (size := one.number(at)) is not None]
    for rank, (size, index) in enumerate(sorted(sizes)):
        if rank:
            running[index].lose(at, "a record holds one log; a smaller one was taken")
        else:
            running[index].put("/log/capacity_events", size, at)
    for reader in services:
        reader.skip("/DateTime" if reader in running else "")
        reader.skip("/DateTimeLocalOffset")
