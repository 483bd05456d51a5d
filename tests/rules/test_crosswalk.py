"""Crosswalks: every shipped rule serves a control, every control is used and rightly titled."""

from pathlib import Path

import pytest

from auditor.errors import RulesetError
from auditor.rules.crosswalk import Crosswalk, load_crosswalk
from tests.rules.matrix import rulesets

FOLDER = Path(__file__).parents[2] / "rulesets" / "crosswalk"

# Source: NIST SP 800-53r5, release 5.1.1. Titles of the OSCAL resolved baselines; SC-45, SC-45(1),
# IA-5(5) and IA-5(7) from a reproduction of the text; AU-4(1) and PE-14(2) from memory.
NIST = """
AC-2 Account Management
AC-2(3) Disable Accounts
AC-3 Access Enforcement
AC-6 Least Privilege
AC-6(1) Authorize Access to Security Functions
AC-6(9) Log Use of Privileged Functions
AC-7 Unsuccessful Logon Attempts
AC-8 System Use Notification
AC-11 Device Lock
AC-12 Session Termination
AC-17 Remote Access
AC-17(2) Protection of Confidentiality and Integrity Using Encryption
AU-2 Event Logging
AU-3 Content of Audit Records
AU-4 Audit Log Storage Capacity
AU-4(1) Transfer to Alternate Storage
AU-5 Response to Audit Logging Process Failures
AU-6 Audit Record Review, Analysis, and Reporting
AU-8 Time Stamps
AU-9 Protection of Audit Information
AU-9(2) Store on Separate Physical Systems or Components
AU-11 Audit Record Retention
AU-12 Audit Record Generation
CA-7 Continuous Monitoring
CM-2 Baseline Configuration
CM-3 Configuration Change Control
CM-5 Access Restrictions for Change
CM-6 Configuration Settings
CM-7 Least Functionality
CM-7(1) Periodic Review
CM-8 System Component Inventory
CP-9 System Backup
CP-10 System Recovery and Reconstitution
IA-2 Identification and Authentication (Organizational Users)
IA-2(8) Access to Accounts — Replay Resistant
IA-3 Device Identification and Authentication
IA-5 Authenticator Management
IA-5(1) Password-based Authentication
IA-5(2) Public Key-based Authentication
IA-5(5) Change Authenticators Prior to Delivery
IA-5(6) Protection of Authenticators
IA-5(7) No Embedded Unencrypted Static Authenticators
IA-8 Identification and Authentication (Non-organizational Users)
IA-11 Re-authentication
IR-6 Incident Reporting
MA-4 Nonlocal Maintenance
PE-9 Power Equipment and Cabling
PE-10 Emergency Shutoff
PE-11 Emergency Power
PE-11(1) Alternate Power Supply — Minimal Operational Capability
PE-14 Environmental Controls
PE-14(2) Monitoring with Alarms and Notifications
RA-5 Vulnerability Monitoring and Scanning
SC-5 Denial-of-service Protection
SC-7 Boundary Protection
SC-7(5) Deny by Default — Allow by Exception
SC-8 Transmission Confidentiality and Integrity
SC-8(1) Cryptographic Protection
SC-10 Network Disconnect
SC-12 Cryptographic Key Establishment and Management
SC-13 Cryptographic Protection
SC-17 Public Key Infrastructure Certificates
SC-20 Secure Name/Address Resolution Service (Authoritative Source)
SC-23 Session Authenticity
SC-28 Protection of Information at Rest
SC-45 System Time Synchronization
SC-45(1) Synchronization with Authoritative Time Source
SI-2 Flaw Remediation
SI-4 System Monitoring
SI-4(5) System-generated Alerts
SI-7 Software, Firmware, and Information Integrity
"""

# Source: IEC 62443-3-3:2013. SR 1.1 to 1.13 and 2.1 from a reproduction of the text, the rest from memory.
IEC = """
1.1 Human user identification and authentication
1.2 Software process and device identification and authentication
1.3 Account management
1.4 Identifier management
1.5 Authenticator management
1.6 Wireless access management
1.7 Strength of password-based authentication
1.8 PKI certificates
1.9 Strength of public key authentication
1.10 Authenticator feedback
1.11 Unsuccessful login attempts
1.12 System use notification
1.13 Access via untrusted networks
2.1 Authorization enforcement
2.5 Session lock
2.6 Remote session termination
2.8 Auditable events
2.9 Audit storage capacity
2.11 Timestamps
3.1 Communication integrity
4.1 Information confidentiality
4.3 Use of cryptography
5.1 Network segmentation
6.1 Audit log accessibility
6.2 Continuous monitoring
7.3 Control system backup
7.5 Emergency power
7.6 Network and security configuration settings
7.7 Least functionality
7.8 Control system component inventory
"""


def titles(text: str, before: str = "") -> dict[str, str]:
    """Read a list of identifiers and titles, one a line."""
    rows = (line.partition(" ") for line in text.strip().splitlines())
    return {before + control: title for control, _, title in rows}


PUBLISHED = {"nist-sp-800-53r5": titles(NIST), "iec-62443-3-3": titles(IEC, "SR ")}
SHIPPED = sorted(PUBLISHED)


def shipped(name: str) -> Crosswalk:
    """Load a shipped crosswalk."""
    path = FOLDER / f"{name}.toml"
    return load_crosswalk(path.read_bytes(), path.name)


def test_these_crosswalks_are_shipped() -> None:
    """No file in the folder goes unchecked, and each is called by its own name."""
    assert sorted(path.stem for path in FOLDER.iterdir()) == SHIPPED
    assert [shipped(name).name for name in SHIPPED] == SHIPPED


@pytest.mark.parametrize("name", SHIPPED)
def test_every_shipped_rule_serves_a_control(name: str) -> None:
    """Each rule of each ruleset has its line, and no line is left over."""
    rules = {rule.id for ruleset in rulesets() for rule in ruleset.rules}
    assert set(shipped(name).rules) == rules


@pytest.mark.parametrize("name", SHIPPED)
def test_every_control_named_has_a_title_and_is_used(name: str) -> None:
    """The list of controls and the controls that rules serve are the same."""
    crosswalk = shipped(name)
    assert {control for controls in crosswalk.rules.values() for control in controls} == set(
        crosswalk.controls
    )


@pytest.mark.parametrize("name", SHIPPED)
def test_titles_are_those_of_the_catalogue(name: str) -> None:
    """Identifiers and titles stand in the lists above, word for word."""
    assert shipped(name).controls.items() <= PUBLISHED[name].items()


GOOD = """
[crosswalk]
name = "house"
title = "House rules"
edition = "3"
source = "our own"

[controls]
"H-1" = "Doors"

[rules]
telnet-enabled = ["H-1"]
"""


def faults_of(text: str) -> list[tuple[int, str, str]]:
    """Return line, pointer and problem of every fault of a crosswalk."""
    with pytest.raises(RulesetError) as caught:
        load_crosswalk(text.encode(), "house.toml")
    assert {fault.file for fault in caught.value.faults} == {"house.toml"}
    return [(fault.line, fault.pointer, fault.problem) for fault in caught.value.faults]


def test_a_crosswalk_is_read_as_it_stands() -> None:
    """Head, titles and rules come back as data."""
    crosswalk = load_crosswalk(GOOD.encode(), "house.toml")
    assert (crosswalk.name, crosswalk.title, crosswalk.edition, crosswalk.source) == (
        "house",
        "House rules",
        "3",
        "our own",
    )
    assert dict(crosswalk.controls) == {"H-1": "Doors"}
    assert dict(crosswalk.rules) == {"telnet-enabled": ("H-1",)}


def test_a_control_without_title_is_refused_with_its_line() -> None:
    """The fault names the control and the line of the rule that names it."""
    assert faults_of(GOOD.replace('["H-1"]', '["H-1", "H-2"]')) == [
        (12, "/rules/telnet-enabled", "H-2 has no title in [controls]")
    ]


@pytest.mark.parametrize(
    ("text", "line"),
    [
        (GOOD.replace('edition = "3"', "edition = 3"), 5),
        (GOOD.replace('["H-1"]', "[]"), 12),
        (GOOD.replace('["H-1"]', '["H-1", "H-1"]'), 12),
        (GOOD.replace("telnet-enabled", "TELNET"), 12),
    ],
    ids=["edition is a number", "no control", "one control twice", "not a rule id"],
)
def test_a_fault_of_shape_is_refused_with_its_line(text: str, line: int) -> None:
    """The schema beside the loader says what a crosswalk looks like; each fault has its line."""
    assert [fault[0] for fault in faults_of(text)] == [line]


def test_text_that_is_not_toml_is_refused_with_its_line() -> None:
    """The fault names the line where reading stopped."""
    assert [fault[0] for fault in faults_of(GOOD + "oops")] == [13]
