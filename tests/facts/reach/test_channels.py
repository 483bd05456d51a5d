"""Every kind of way in, one service at a time: who, what it allows, the proof, the wire, and from where.

On a card on which nothing else is open. What each protocol carries in clear, and what it asks for, is
from the standards of the protocols: RFC 854 (Telnet), RFC 959 and 4217 (FTP), RFC 1350 (TFTP), RFC 4251
(SSH), RFC 9110 (HTTP), RFC 3411 to 3415 (SNMP), from memory; what roles allow is the record's own.
"""

from datetime import UTC, datetime
from typing import Any, Final

import pytest

from auditor.facts.fact import Context
from auditor.facts.reach.way import Channel, Place, Proof, Way
from auditor.facts.reach.ways import ways

CONTEXT = Context(datetime(2026, 11, 25, tzinfo=UTC), words=frozenset({"public", "private"}))
SERVICES: Final = (
    "http", "https", "telnet", "ssh", "ftp", "tftp", "sftp", "scp", "rest_api", "modbus_tcp", "bacnet_ip",
    "mqtt", "remote_vendor_service", "shutdown_agent", "serial_console", "usb", "wifi", "bluetooth",
)  # fmt: skip
OPEN: Final = {"enabled": True, "allowed_sources": {"any": True}}
SUBNET: Final = {"prefixes": ["192.0.2.0/28"]}
NET: Final = (Place.NETWORK, ("192.0.2.0/28",), 16)
CARD: Final = (Place.PRESENCE, (), 0)
CALL: Final = (Place.OUTBOUND, None, None)
AIR: Final = (Place.RADIO, (), 0)
LONG: Final = {"clear": "vu9 Kq2 Lf7 Zr4 Wm"}
"""Eighteen characters that no list has: strong by length (NIST SP 800-63B revision 4)."""
EIGHT: Final = {"clear": "Kq2Lf7Zr"}


def closed() -> dict[str, Any]:
    """Return a card that takes output commands and on which no way in is open."""
    return {
        "card": {"id": "bench", "site": "North", "serial_number": "8000000001"},
        "equipment": {"kind": "ups"},
        "network": {"allowed_sources": SUBNET, "hostname": "bench.example.org"},
        "services": {name: {"enabled": False} for name in SERVICES},
        "snmp": {"enabled": False},
        "accounts": [
            _account("keeper", "administrator", {"clear": "private"}),
            _account("porter", "operator", EIGHT),
            _account("guest", "viewer", LONG),
            {**_account("old", "administrator", LONG), "enabled": False},
        ],
        "ssh": {"password_login": True},
        "directory": {"ldap": {"enabled": False}, "radius": {"enabled": False}},
        "shutdown": {"remote_output_commands": {"enabled": True, "least_role": "operator"}},
    }


def _account(name: str, role: str, password: dict[str, str]) -> dict[str, Any]:
    proof = {"password": password, "password_is_factory": False, "second_factor": False}
    return {"name": name, "role": role, "enabled": True, **proof}


def seen(way: Way) -> tuple[object, ...]:
    """Return what is held of a way: who, open, reads, configures, switches, proof, in clear, from where."""
    origin = way.origin
    may = way.reads, way.configures, way.switches
    return (
        way.party,
        way.is_open,
        *may,
        way.proof,
        way.in_clear,
        (origin.place, origin.prefixes, origin.ipv4_addresses),
    )


def test_with_everything_closed_there_is_no_way_in() -> None:
    """Nothing open, nothing unknown: no way, not even a possible one."""
    assert ways(closed(), CONTEXT) == ()


LOGINS: Final = (
    ("account keeper", True, True, True, Proof.WELL_KNOWN),
    ("account porter", True, False, True, Proof.ADEQUATE),
    ("account guest", True, False, False, Proof.STRONG),
)
"""Whoever logs in by a name at a page or a prompt: what each role may, and how good its password is."""


@pytest.mark.parametrize(
    ("service", "settings", "in_clear"),
    [
        ("http", {"redirects_to_https": False}, True),
        ("https", {}, False),
        ("telnet", {}, True),
        ("ssh", {}, False),
        ("rest_api", {"authentication": "basic", "transport": "both", "allows_write": True}, True),
        ("rest_api", {"authentication": "session", "transport": "https", "allows_write": True}, False),
    ],
)
def test_each_role_of_account_is_a_way_through_pages_and_prompts(
    service: str, settings: dict[str, Any], in_clear: bool
) -> None:
    """An administrator configures and switches, an operator switches, a viewer reads; who is off can't."""
    card = closed()
    card["services"][service] = {**OPEN, **settings}
    found = [seen(way) for way in ways(card, CONTEXT) if way.channel is Channel(service)]
    assert found == [
        (who, True, reads, configures, switches, proof, in_clear, NET)
        for who, reads, configures, switches, proof in LOGINS
    ]


@pytest.mark.parametrize(
    ("service", "settings", "in_clear"),
    [("ftp", {"tls": "none"}, True), ("ftp", {"tls": "offered"}, True), ("ftp", {"tls": "required"}, False),
     ("sftp", {}, False), ("scp", {}, False)],
)  # fmt: skip
def test_files_change_settings_for_administrators_and_switch_nothing(
    service: str, settings: dict[str, Any], in_clear: bool
) -> None:
    """Settings are loaded as files; outputs are not switched by any."""
    card = closed()
    card["services"][service] = {**OPEN, **settings}
    assert [seen(way) for way in ways(card, CONTEXT)] == [
        (who, True, reads, configures, False, proof, in_clear, NET)
        for who, reads, configures, _, proof in LOGINS
    ]


def test_a_page_that_sends_on_to_https_is_no_way_of_its_own() -> None:
    """Nobody logs in where every request is sent on."""
    card = closed()
    card["services"]["http"] = {**OPEN, "redirects_to_https": True}
    assert ways(card, CONTEXT) == ()


def test_ssh_by_key_alone_asks_everybody_for_a_key() -> None:
    """Whatever the passwords are (RFC 4252 section 7, from memory)."""
    card = closed()
    card["services"]["ssh"] = OPEN
    card["ssh"]["password_login"] = False
    assert {way.proof for way in ways(card, CONTEXT)} == {Proof.STRONG}


_ANYONE: Final = "anyone"
_HOLDER: Final = "holder of a client certificate"
_VENDOR: Final = "the vendor's service"
_MQTT: Final = {"accepts_commands": True, "transport": "tls"}
_REST: Final = {"transport": "https", "allows_write": True}


@pytest.mark.parametrize(
    ("service", "settings", "way"),
    [
        ("rest_api", {**_REST, "authentication": "none", "transport": "http"},
         (_ANYONE, True, True, True, True, Proof.NONE, True, NET)),
        ("rest_api", {**_REST, "authentication": "token"},
         ("holder of a token", True, True, True, True, Proof.ADEQUATE, False, NET)),
        ("rest_api", {**_REST, "authentication": "certificate", "allows_write": False},
         (_HOLDER, True, True, False, False, Proof.STRONG, False, NET)),
        ("modbus_tcp", {"tls": False, "allows_write": True},
         (_ANYONE, True, True, True, True, Proof.NONE, True, NET)),
        ("modbus_tcp", {"tls": True, "allows_write": True},
         (_HOLDER, True, True, True, True, Proof.STRONG, False, NET)),
        ("modbus_tcp", {"tls": False, "allows_write": False},
         (_ANYONE, True, True, False, False, Proof.NONE, True, NET)),
        ("bacnet_ip", {"secure_connect": False, "allows_write": True},
         (_ANYONE, True, True, True, True, Proof.NONE, True, NET)),
        ("bacnet_ip", {"secure_connect": True, "allows_write": True},
         (_HOLDER, True, True, True, True, Proof.STRONG, False, NET)),
        ("tftp", {"accepts_uploads": True},
         (_ANYONE, True, None, True, False, Proof.NONE, True, NET)),
        ("tftp", {"accepts_uploads": False},
         (_ANYONE, True, None, False, False, Proof.NONE, True, NET)),
        ("mqtt", {**_MQTT, "authentication": "none", "transport": "tcp"},
         ("whoever may publish at the broker", True, True, True, True, Proof.NONE, True, CALL)),
        ("mqtt", {**_MQTT, "authentication": "password", "password": {"clear": "public"}},
         ("whoever may publish at the broker", True, True, True, True, Proof.UNKNOWN, False, CALL)),
        ("mqtt", {**_MQTT, "authentication": "certificate", "accepts_commands": False},
         ("whoever may publish at the broker", True, True, False, False, Proof.UNKNOWN, False, CALL)),
        ("remote_vendor_service", {"allows_write": True},
         (_VENDOR, True, True, True, True, Proof.UNKNOWN, None, CALL)),
        ("remote_vendor_service", {"allows_write": False},
         (_VENDOR, True, True, False, False, Proof.UNKNOWN, None, CALL)),
        ("shutdown_agent", {"authentication": "none", "transport": "udp"},
         (_ANYONE, True, True, False, None, Proof.NONE, True, NET)),
        ("shutdown_agent", {"authentication": "certificate", "transport": "tls"},
         (_HOLDER, True, True, False, None, Proof.STRONG, False, NET)),
        ("serial_console", {"requires_login": False},
         (_ANYONE, True, True, True, True, Proof.NONE, False, CARD)),
        ("usb", {"allows": ["file_import"]},
         (_ANYONE, True, False, True, False, Proof.NONE, False, CARD)),
        ("usb", {"allows": ["firmware", "file_export"]},
         (_ANYONE, True, True, True, False, Proof.NONE, False, CARD)),
        ("usb", {"allows": []},
         (_ANYONE, True, False, False, False, Proof.NONE, False, CARD)),
        ("usb", {"allows": ["console"]},
         (_ANYONE, True, None, None, None, Proof.UNKNOWN, False, CARD)),
        ("bluetooth", {"pairing": "none"},
         (_ANYONE, True, None, None, None, Proof.NONE, True, AIR)),
        ("bluetooth", {"pairing": "fixed_pin"},
         ("whoever pairs", True, None, None, None, Proof.WEAK, False, AIR)),
        ("bluetooth", {"pairing": "passkey"},
         ("whoever pairs", True, None, None, None, Proof.ADEQUATE, False, AIR)),
    ],
)  # fmt: skip
def test_a_service_without_names_is_one_way(
    service: str, settings: dict[str, Any], way: tuple[object, ...]
) -> None:
    """Machines, uploads, brokers, vendors, ports and radio: by hand from what the record says."""
    card = closed()
    card["services"][service] = {**OPEN, **settings}
    assert [seen(each) for each in ways(card, CONTEXT)] == [way]


def test_each_agent_with_a_shared_secret_is_a_way_of_its_own() -> None:
    """By the secret of each; one that is off is none."""
    card = closed()
    listener = {"authentication": "shared_secret", "transport": "tcp"}
    card["services"]["shutdown_agent"] = {**OPEN, **listener}
    card["shutdown"]["agents"] = [
        {"name": "mail", "enabled": True, "secret": {"clear": "private"}},
        {"name": "files", "enabled": True, "secret": LONG},
        {"name": "spare", "enabled": False, "secret": LONG},
    ]
    assert [seen(way) for way in ways(card, CONTEXT)] == [
        ("agent mail", True, True, False, None, Proof.WELL_KNOWN, True, NET),
        ("agent files", True, True, False, None, Proof.STRONG, True, NET),
    ]


def test_a_console_with_login_lets_in_by_account_or_by_its_own_password() -> None:
    """At the card, so nothing is heard; its own password is its own way."""
    card = closed()
    card["services"]["serial_console"] = {
        "enabled": True,
        "requires_login": True,
        "password": {"clear": "ab"},
        "password_is_factory": False,
    }
    found = {way.party: seen(way) for way in ways(card, CONTEXT)}
    own = "holder of the console's own password"
    assert found.pop(own) == (own, True, True, True, True, Proof.WEAK, False, CARD)
    assert list(found.values()) == [
        (who, True, reads, configures, switches or None, proof, False, CARD)
        for who, reads, configures, switches, proof in LOGINS
    ]


def test_a_wireless_network_is_the_same_ways_from_radio_range() -> None:
    """Who joins without proof and meets a service without one needs none at all, and hears it all."""
    card = closed()
    card["network"]["allowed_sources"] = {"any": True}
    card["services"]["modbus_tcp"] = {**OPEN, "tls": False, "allows_write": True,
                                      "allowed_sources": {"any": True}}  # fmt: skip
    card["services"]["wifi"] = {**OPEN, "security": "open"}
    _, way = ways(card, CONTEXT)
    assert way.channel is Channel.WIFI
    assert seen(way) == ("anyone over modbus_tcp", True, True, True, True, Proof.NONE, True, AIR)


def _snmp(**members: Any) -> dict[str, Any]:
    return {
        "enabled": True,
        "versions": ["v1", "v2c", "v3"],
        "communities": [],
        "users": [],
        "vacm": {"groups": [], "access": [], "views": []},
        **members,
    }


def test_each_community_is_a_way_over_each_version() -> None:
    """In clear, by its word, as far as its row lets it; its own list narrows from where."""
    card = closed()
    write = {"name": "w", "enabled": True, "access": "write", "view": "", "community": {"clear": "public"},
             "allowed_sources": {"prefixes": ["192.0.2.4/31"]}}  # fmt: skip
    read = {"name": "r", "enabled": True, "access": "read", "view": "", "community": LONG,
            "allowed_sources": {"any": True}}  # fmt: skip
    card["snmp"] = _snmp(communities=[write, read, {**write, "name": "off", "enabled": False}])
    narrow = (Place.NETWORK, ("192.0.2.4/31",), 2)
    rows = [
        ("community w", True, True, True, True, Proof.WELL_KNOWN, True, narrow),
        ("community r", True, True, False, False, Proof.STRONG, True, NET),
    ]
    found = ways(card, CONTEXT)
    for channel in (Channel.SNMP_V1, Channel.SNMP_V2C):
        assert [seen(way) for way in found if way.channel is channel] == rows
    assert not [way for way in found if way.channel is Channel.SNMP_V3]


@pytest.mark.parametrize(
    ("level", "proof", "in_clear"),
    [
        ("noAuthNoPriv", Proof.NONE, True),
        ("authNoPriv", Proof.WELL_KNOWN, True),
        ("authPriv", Proof.STRONG, False),
    ],
)
def test_a_user_is_a_way_at_its_level(level: str, proof: Proof, in_clear: bool) -> None:
    """A name alone, one key, or both: the harder of the two counts; only privacy hides what is said."""
    card = closed()
    user = {"name": "ops", "enabled": True, "level": level, "access": "write", "view": "",
            "allowed_sources": {"any": True},
            "auth_protocol": "sha256", "auth_secret": {"clear": "public"},
            "priv_protocol": "aes128", "priv_secret": LONG}  # fmt: skip
    card["snmp"] = _snmp(users=[user])
    found = [seen(way) for way in ways(card, CONTEXT)]
    assert ("user ops", True, True, True, True, proof, in_clear, NET) in found


def test_a_directory_is_a_way_for_its_users_and_leaves_the_emergency_account() -> None:
    """Local people come in only while it is away, and only who is for that."""
    card = closed()
    card["services"]["https"] = OPEN
    card["accounts"] = [{**_account("break-glass", "administrator", LONG), "purpose": "emergency"}]
    card["directory"] = {
        "ldap": {"enabled": True, "default_role": "viewer"},
        "radius": {"enabled": False},
        "local_fallback": {"when": "directory_unreachable", "accounts": "emergency"},
    }
    local, everybody, by_group = ways(card, CONTEXT)
    assert (local.party, local.condition) == ("account break-glass", "while the directory can't be reached")
    assert seen(everybody) == (
        "any user of the LDAP directory", True, True, False, False, Proof.DIRECTORY, False, NET
    )  # fmt: skip
    assert seen(by_group) == (
        "users of the LDAP directory by their group", True, True, None, None, Proof.DIRECTORY, False, NET
    )  # fmt: skip


@pytest.mark.parametrize("service", [name for name in SERVICES if name != "wifi"])
def test_a_service_of_which_nothing_was_captured_is_a_way_that_may_be(service: str) -> None:
    """Unknown stays unknown: at least one way, none of them sure."""
    card = closed()
    del card["services"][service]
    found = ways(card, CONTEXT)
    assert found
    assert {way.is_open for way in found} == {None}


@pytest.mark.parametrize("commands", [False, None])
def test_outputs_that_take_no_commands_are_switched_by_nobody_from_afar(commands: bool | None) -> None:
    """Switched off, no way switches; not captured, none is sure to."""
    card = closed()
    for service in ("https", "telnet", "modbus_tcp", "rest_api"):
        card["services"][service] = {**OPEN, "authentication": "none", "allows_write": True}
    remote = {"least_role": "operator"} if commands is None else {"enabled": False}
    card["shutdown"]["remote_output_commands"] = remote
    assert {way.switches for way in ways(card, CONTEXT)} <= {False, commands}


@pytest.mark.parametrize(
    ("group", "configures", "switches"),
    [("8", False, True), ("9", True, False)],
)
def test_a_view_of_one_group_of_the_ups_mib_allows_what_that_group_does(
    group: str, configures: bool, switches: bool
) -> None:
    """UpsControl is 1.3.6.1.2.1.33.1.8 and upsConfig 1.3.6.1.2.1.33.1.9 (RFC 1628 section 4)."""
    card = closed()
    views = [{"name": "one", "subtree": f"1.3.6.1.2.1.33.1.{group}", "mask": "", "type": "included"}]
    row = {"name": "w", "enabled": True, "access": "write", "view": "one", "community": LONG}
    card["snmp"] = _snmp(
        versions=["v2c"], communities=[row], vacm={"groups": [], "access": [], "views": views}
    )
    (way,) = ways(card, CONTEXT)
    assert (way.reads, way.configures, way.switches) == (True, configures, switches)


def test_agents_switch_nothing_where_outputs_take_no_commands() -> None:
    """Else no setting tells what the listener takes."""
    card = closed()
    card["services"]["shutdown_agent"] = {**OPEN, "authentication": "none", "transport": "udp"}
    card["shutdown"]["remote_output_commands"]["enabled"] = False
    (way,) = ways(card, CONTEXT)
    assert way.switches is False


@pytest.mark.parametrize("commands", [False, None])
def test_what_a_console_takes_while_remote_switching_is_off_is_not_known(commands: bool | None) -> None:
    """The setting is about the network; nobody said that the console obeys it."""
    card = closed()
    card["services"]["serial_console"] = {"enabled": True, "requires_login": False}
    card["shutdown"]["remote_output_commands"] = {} if commands is None else {"enabled": commands}
    (way,) = ways(card, CONTEXT)
    assert (way.configures, way.switches) == (True, None)
