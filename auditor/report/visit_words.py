"""What a procedure says beside its steps: where things are, what monitoring sees, before and after.

All of it is general: kinds of pages, never a maker's. Source: common practice, no source.
"""

# ruff: noqa: E501 - each text stands on one line

from collections.abc import Mapping
from typing import Final

PAGES: Final[Mapping[str, str]] = {
    "card": "identification of the card",
    "equipment": "identification of the equipment",
    "capture": "export or backup of the settings",
    "network": "network and addressing, best at the serial console",
    "services": "services and protocols",
    "tls": "certificates and TLS",
    "ssh": "SSH server",
    "accounts": "local accounts",
    "access_policy": "rules for logging in",
    "directory": "central accounts: LDAP or RADIUS",
    "snmp": "SNMP",
    "time": "date and time",
    "log": "event log and its collectors",
    "mail": "mail and its recipients",
    "shutdown": "shutdown and outputs",
    "probe": "environment probe",
    "maintenance": "maintenance: firmware, backup, reset",
}

MONITORING: Final[Mapping[str, str]] = {
    "network": "The card may drop out and come back, perhaps at another address; a source that is not let in is lost.",
    "services": "Programs that use the service fail until they follow the change; watch one round of checks.",
    "tls": "Checks over HTTPS fail until they trust the new certificate and speak the versions that are left.",
    "ssh": "Programs that log in over SSH refuse the new host key until it is entered with them.",
    "accounts": "Programs that log in with this account fail until they have the new password or another account.",
    "access_policy": "Nothing, unless a program logs in with a wrong password: it may be locked out.",
    "directory": "Programs that log in through the directory may fail for the time of the change.",
    "snmp": "Polls and notifications fail until the other side is set to the same; watch one polling interval.",
    "time": "Times of events may jump once.",
    "log": "A test event, and the change itself.",
    "mail": "A test mail.",
    "shutdown": "Perhaps a notice that settings of the shutdown changed; nothing of the output, if all goes well.",
    "probe": "Perhaps an alarm that was silent until now.",
    "maintenance": "Nothing, or the restart of an update.",
}
QUIET: Final = "A change of configuration in the log, no more."
TESTED: Final = "A test: a notification, an event, a mail or an agent's answer, as the step says."
_OFF: Final = (
    "A check of a service that is switched off fails from now on: take it out, or move it to the new one."
)

_NEAR: Final = frozenset({"serial_console", "usb", "wifi", "bluetooth"})
"""Services at the equipment, which no monitoring asks for."""


def page_of(tokens: tuple[str, ...]) -> str:
    """Return the kind of page where a setting is entered: a key of ``PAGES``."""
    return "maintenance" if tokens[0] == "card" and tokens[-1].startswith("firmware") else tokens[0]


def seen_of(tokens: tuple[str, ...], value: object) -> str:
    """Return what monitoring sees of the change of a setting to a value."""
    page = page_of(tokens)
    if page != "services":
        return MONITORING.get(page, QUIET)
    if tokens[1] in _NEAR:
        return QUIET
    return _OFF if tokens[-1] == "enabled" and value is False else MONITORING["services"]


BEFORE: Final = (
    "Work order and permit are signed; the time of the visit is agreed with whoever answers for the load.",
    "The people who watch are told: monitoring, those on duty, the owners of the machines that are shut down.",
    "What the steps ask of the site is at hand: names, addresses, certificates, the other side's settings, new secrets in the store.",
    "The equipment is in normal operation: mains present, battery charged, no alarm, on inverter or preferred source.",
    "Bypass and the other supply path are as the permit asks. Nobody works on the other path at the same time.",
    "The settings are exported as a backup, off the card, sealed or encrypted; the file opens.",
    "The way back is ready: the backup, the present firmware, the serial cable, the former secrets in the store.",
    "A login over the way in named below works now, and a second session stays open during the work.",
)

ONE_BY_ONE: Final = (
    "One card at a time: the next is begun when the one before it is verified and all its points under After are "
    "ticked. Two cards of one load are best not done at one visit."
)
ANEW: Final = "All of this holds anew at each visit."

SHARING: Final = (
    "The visits are shared out by the most risk a minute, where a step counts with all that must come before it: a "
    "severe one waits where that takes long. What is left of a window is filled with what still fits."
)
"""How several visits come about, and why the most severe step may not be at the first."""

STOPS: Final = (
    "The load, an output or an alarm does something that no step announces.",
    "The equipment goes on battery or bypass, or the other path fails.",
    "A verification fails and going back does not restore what was before.",
    "No way in but the session that is open works any more.",
    "The window ends: the step at hand is finished or taken back, no other is begun.",
)

AFTER: Final = (
    "Log in anew over each way in that is to stay; try one that was closed: it is refused.",
    "A test alarm arrives with the people on duty; monitoring shows the card without gaps.",
    "The card's clock, compared with a trusted one, is right; note both in the new record.",
    "Outputs, bypass and battery are as they were before the visit.",
    "The settings are exported anew, sealed (witnessmark seal), and audited (witnessmark audit).",
    "What was expected and what was found agree, or the difference is written down.",
    "New secrets are in the site's store, the former ones marked as such; a new backup is kept off the card.",
    "The settings are marked as approved (witnessmark mark), the equipment as the site does it; permit and work order are closed, monitoring is told.",
)

BLOCKS: Final[Mapping[str, str]] = {
    "desk": "At the desk",
    "work": "Without a restart",
    "batch": "Together, then one restart",
    "output": "Set apart: could affect the output",
    "unordered": "Without an order: the rules say nothing of visits",
}
"""What stands over the steps of a block, by its kind."""

OUTPUT: Final = (
    "These steps could affect the output. Each is done alone, by qualified people, at a time agreed for it, with "
    "nothing else begun. Where the equipment feeds a life-safety load: only with the authority of the site, by its "
    "own procedure. Local codes and licensed practice come first."
)

RESTART: Final = (
    "Restart the card once, now. Find out beforehand whether the outputs keep their state while it restarts. "
    "Monitoring is blind until it answers again. Then verify each step since the last restart: only now it is in force."
)

LIFE_SAFETY: Final = (
    "This equipment feeds a life-safety load: nothing here is begun without the site's own authority present."
)

RECIPE_TITLES: Final[Mapping[str, str]] = {
    "open-ssh": "Turn SSH on, make host keys of the card's own, and prove a login before the next way is closed.",
    "open-https": "Turn HTTPS on with a certificate of the site, and prove a login before the next way is closed.",
    "new-administrator": "Make another administrator's account, and prove a login with it before the next is closed.",
}
RECIPE_PAGES: Final[Mapping[str, str]] = {
    "open-ssh": "services",
    "open-https": "services",
    "new-administrator": "accounts",
}
