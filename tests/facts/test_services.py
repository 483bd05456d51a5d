"""Facts on services: open ones, foreign ports, secrets of their own."""

from datetime import UTC, datetime
from pathlib import Path

import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import services
from auditor.facts.fact import Context, Settings
from auditor.facts.services import OWN_NAMES, REGISTERED_PORTS
from tests.facts.less_known import thinned

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC), frozenset({"console"}))
DEBIAN = Path("/etc/services")
CARD = Path(__file__).parents[2] / "fixtures/cards/compliant.json"
OFF: Settings = {name: {"enabled": False} for name in OWN_NAMES}
ANY = {"any": True}
FEW = {"prefixes": ["192.0.2.0/26"]}


def debian_services() -> dict[tuple[str, str], int]:
    """Return name and transport → port, aliases included, of the services file."""
    found = {}
    for line in DEBIAN.read_text("utf-8").splitlines():
        words = line.partition("#")[0].split()
        if len(words) > 1:
            port, _, transport = words[1].partition("/")
            found.update({(name, transport): int(port) for name in (words[0], *words[2:])})
    return found


@pytest.mark.skipif(not DEBIAN.exists(), reason="this machine has no /etc/services to compare with")
def test_ports_agree_with_the_services_file() -> None:
    """Every name that the services file knows stands there with the same port.

    Source: /etc/services of Debian's netbase, where it is installed.
    """
    reference = debian_services()
    shared = {key: port for key, port in REGISTERED_PORTS.items() if key in reference}
    assert {key: reference[key] for key in shared} == shared
    assert len(shared) >= 15


@pytest.mark.parametrize(
    ("service", "ports"),
    [
        ("http", {80}),
        ("https", {443}),
        ("telnet", {23}),
        ("ssh", {22}),
        ("sftp", {22}),
        ("tftp", {69}),
        ("modbus_tcp", {502, 802}),
        ("bacnet_ip", {47808}),
        ("mqtt", {1883, 8883}),
    ],
)
def test_services_know_their_own_ports(service: str, ports: set[int]) -> None:
    """Ports of the registry, with and without protection.

    Source: IANA Service Name and Transport Protocol Port Number Registry, snapshot 2024-06-11.
    """
    names = OWN_NAMES[service]
    assert {port for (name, _), port in REGISTERED_PORTS.items() if name in names} == ports


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({}, ()),
        ({"ssh": {"enabled": True, "allowed_sources": ANY}}, ("ssh",)),
        ({"ssh": {"enabled": True, "allowed_sources": FEW}}, ()),
        ({"ssh": {"enabled": False, "allowed_sources": ANY}}, ()),
        ({"ssh": {"enabled": True}}, None),
        ({"ssh": {"allowed_sources": ANY}}, None),
        ({"ssh": {"allowed_sources": FEW}}, ()),
        ({"ssh": {}}, None),
        ({"ssh": {}, "http": {"enabled": True, "allowed_sources": ANY}}, ("http",)),
        ({"mqtt": {"enabled": True, "allowed_sources": ANY}}, ()),
    ],
)
def test_open_services_are_named(changes: Settings, named: tuple[str, ...] | None) -> None:
    """A listener that is on and lets everybody in is named; MQTT calls out and is not."""
    assert services.services_open_to_any({"services": {**OFF, **changes}}, CONTEXT) == named


@pytest.mark.parametrize(
    ("changes", "named"),
    [
        ({}, ()),
        ({"https": {"enabled": True, "port": 443}}, ()),
        ({"https": {"enabled": True, "port": 8443}}, ()),
        ({"https": {"enabled": True, "port": 22}}, ("https on 22 (ssh)",)),
        ({"tftp": {"enabled": True, "port": 161}}, ("tftp on 161 (snmp)",)),
        ({"https": {"enabled": True, "port": 161}}, ()),
        ({"shutdown_agent": {"enabled": True, "port": 514}}, ("shutdown_agent on 514 (shell)",)),
        ({"shutdown_agent": {"enabled": True, "port": 69}}, ("shutdown_agent on 69 (tftp)",)),
        ({"ssh": {"enabled": True}}, None),
        ({"ssh": {"port": 23}}, None),
        ({"ssh": {"port": 22}}, ()),
        ({"ssh": {}, "telnet": {"enabled": True, "port": 22}}, ("telnet on 22 (ssh)",)),
    ],
)
def test_services_on_ports_of_others_are_named(changes: Settings, named: tuple[str, ...] | None) -> None:
    """Only an enabled service on a port that the registry gives to another one is named."""
    assert services.services_on_foreign_ports({"services": {**OFF, **changes}}, CONTEXT) == named


def test_a_record_without_services_leaves_all_unknown() -> None:
    """No section, no answer."""
    assert services.services_open_to_any({}, CONTEXT) is None
    assert services.services_on_foreign_ports({}, CONTEXT) is None
    assert services.console_password_is_guessable({}, CONTEXT) is None
    assert services.wifi_passphrase_is_guessable({}, CONTEXT) is None


def test_secrets_of_console_and_radio_are_judged() -> None:
    """A well-known console password and an empty passphrase are guessable, a good one is not."""
    weak = {"serial_console": {"password": {"clear": "Console"}}, "wifi": {"passphrase": {"empty": True}}}
    good = {
        "serial_console": {"password": {"clear": "basalt-Ferry"}},
        "wifi": {"passphrase": {"clear": "x-Ferry"}},
    }
    for section, answer in ((weak, True), (good, False)):
        assert services.console_password_is_guessable({"services": section}, CONTEXT) is answer
        assert services.wifi_passphrase_is_guessable({"services": section}, CONTEXT) is answer


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Settings, Settings]:
    """Draw services and the same ones with less known; sources are kept whole or left out."""
    sources, ports = st.sampled_from([ANY, FEW]), st.sampled_from([22, 23, 80, 443, 8443])
    made = st.fixed_dictionaries({"enabled": st.booleans(), "port": ports, "allowed_sources": sources})
    whole = {name: draw(made) for name in OWN_NAMES}
    less = {
        name: {setting: whole[name][setting] for setting in service}
        for name, service in thinned(whole, draw).items()
    }
    return {"services": whole}, {"services": less}


@given(pairs())
def test_less_knowledge_never_turns_the_answer(pair: tuple[Settings, Settings]) -> None:
    """Leaving settings out makes the answer unknown, or leaves it: some, or none."""
    for fact in (services.services_open_to_any, services.services_on_foreign_ports):
        known, fewer = (fact(record, CONTEXT) for record in pair)
        assert fewer is None or bool(fewer) is bool(known)


def test_the_compliant_card_is_clean() -> None:
    """The exemplary card has no open service and none on a foreign port."""
    card = orjson.loads(CARD.read_bytes())
    assert services.services_open_to_any(card, CONTEXT) == ()
    assert services.services_on_foreign_ports(card, CONTEXT) == ()
