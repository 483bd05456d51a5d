"""Ways in for whoever stands at the card or within radio range. Holds no facts."""

from collections.abc import Iterator
from typing import Final

from auditor.facts.fact import Context, Settings
from auditor.facts.reach.grade import ADEQUATE, console_grade
from auditor.facts.reach.machine_ways import ANYONE
from auditor.facts.reach.origin import AT_THE_CARD, BY_RADIO
from auditor.facts.reach.way import ANY_PROOF, NO_PROOF, Channel, Grade, Proof, Truth3, Way
from auditor.facts.three_valued import all_of, opposite

_EMPTY: Settings = {}
_ENABLED: Final = "/shutdown/remote_output_commands/enabled"
_WEAK: Final = Grade(Proof.WEAK, Proof.WEAK)


def local_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways in at the serial port, at the USB port and by short-range radio."""
    services = record.get("services", _EMPTY)
    ways = (
        *_console_ways(services.get("serial_console", _EMPTY), record, context),
        _usb_way(services.get("usb", _EMPTY)),
        _bluetooth_way(services.get("bluetooth", _EMPTY)),
    )
    yield from (way for way in ways if way.is_open is not False)


def _console_ways(console: Settings, record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways at the serial port that ask for no account: without login, or by its own password."""
    enabled, asks = console.get("enabled"), console.get("requires_login")
    has_own = True if "password" in console or "password_is_factory" in console else None
    own = console_grade(console, record, context)
    yield _console_way(ANYONE, all_of(enabled, opposite(asks)), NO_PROOF, record)
    yield _console_way("holder of the console's own password", all_of(enabled, asks, has_own), own, record)


def _console_way(party: str, is_open: Truth3, grade: Grade, record: Settings) -> Way:
    commands = record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY).get("enabled")
    at = "/services/serial_console"
    decides = f"{at}/password" if party != ANYONE else f"{at}/requires_login"
    return Way(
        channel=Channel.SERIAL_CONSOLE,
        party=party,
        pointer=f"{at}/enabled",
        settings=(
            f"{at}/enabled",
            f"{at}/requires_login",
            *((decides,) if party != ANYONE else ()),
            _ENABLED,
        ),
        is_open=is_open,
        reads=True,
        configures=True,
        switches=commands or None,
        grade=grade,
        proof_at=decides,
        in_clear=False,
        origin=AT_THE_CARD,
    )


def _usb_way(usb: Settings) -> Way:
    """Return the way at the USB port; a console there asks for what the record doesn't tell."""
    allows = usb.get("allows")
    files: Truth3 = None if allows is None else not {"file_import", "firmware"}.isdisjoint(allows)
    console: Truth3 = None if allows is None else "console" in allows
    out: Truth3 = None if allows is None else "file_export" in allows
    network: Truth3 = None if allows is None else "network" in allows
    unsure = None if console is not False or network is not False else False
    return Way(
        channel=Channel.USB,
        party=ANYONE,
        pointer="/services/usb/enabled",
        settings=("/services/usb/enabled", "/services/usb/allows"),
        is_open=usb.get("enabled"),
        reads=out or unsure if out is not None else None,
        configures=files or unsure if files is not None else None,
        switches=unsure,
        grade=NO_PROOF if allows is not None and unsure is False else ANY_PROOF,
        proof_at="/services/usb/allows",
        in_clear=False,
        origin=AT_THE_CARD,
    )


def _bluetooth_way(bluetooth: Settings) -> Way:
    """Return the way by short-range radio; what it allows the record doesn't tell."""
    at = "/services/bluetooth"
    pairing = bluetooth.get("pairing")
    grade = ANY_PROOF if pairing is None else _PAIRINGS[pairing]
    return Way(
        channel=Channel.BLUETOOTH,
        party=ANYONE if grade is NO_PROOF else "whoever pairs",
        pointer=f"{at}/enabled",
        settings=(f"{at}/enabled", f"{at}/pairing"),
        is_open=bluetooth.get("enabled"),
        reads=None,
        configures=None,
        switches=None,
        grade=grade,
        proof_at=f"{at}/pairing",
        in_clear=opposite(all_of(pairing != "none")),
        origin=BY_RADIO,
    )


_PAIRINGS: Final = {
    "none": NO_PROOF,
    "fixed_pin": _WEAK,
    "numeric_comparison": ADEQUATE,
    "passkey": ADEQUATE,
}
"""A fixed PIN has a few digits, the same on every card. Source: NIST SP 800-121r2 (from memory)."""
