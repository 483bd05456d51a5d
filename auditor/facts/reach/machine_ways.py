"""Ways in over protocols between machines, and by upload, broker or vendor. Holds no facts."""

from collections.abc import Iterator
from typing import Final

from auditor.facts.fact import Context, Settings
from auditor.facts.reach.grade import ADEQUATE, STRONG, secret_grade
from auditor.facts.reach.login_ways import filter_settings, takes_clear_text
from auditor.facts.reach.origin import CALLED, lets_nobody_in, origin_of
from auditor.facts.reach.way import ANY_PROOF, NO_PROOF, Channel, Grade, Truth3, Way
from auditor.facts.three_valued import all_of, opposite

_EMPTY: Settings = {}
_ENABLED: Final = "/shutdown/remote_output_commands/enabled"
ANYONE: Final = "anyone"


def machine_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways in that ask for no name: protocols of machines, uploads, broker, vendor."""
    for made in (_rest_ways, _bus_ways, _tftp_ways, _mqtt_ways, _vendor_ways, _agent_ways):
        yield from (way for way in made(record, context) if _may_be_open(way))


def _may_be_open(way: Way) -> bool:
    return way.is_open is not False and not lets_nobody_in(way.origin)


def _service(record: Settings, channel: Channel) -> Settings:
    service: Settings = record.get("services", _EMPTY).get(channel, _EMPTY)
    return service


def _takes_commands(record: Settings) -> Truth3:
    enabled: Truth3 = record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY).get("enabled")
    return enabled


def _settings(channel: Channel, *names: str, more: tuple[str, ...] = ()) -> tuple[str, ...]:
    at_service = tuple(f"/services/{channel}/{name}" for name in ("enabled", *names))
    return (*at_service, *more)


def _rest_ways(record: Settings, _context: Context) -> Iterator[Way]:
    """Yield the ways through the programming interface for those who have no account there."""
    channel = Channel.REST_API
    service = _service(record, channel)
    asked, writes = service.get("authentication"), service.get("allows_write")
    origin = origin_of(record, service.get("allowed_sources"))
    settings = _settings(channel, "authentication", "transport", "allows_write")
    for proof, (party, grade) in _REST_PARTIES.items():
        yield Way(
            channel=channel,
            party=party,
            pointer=settings[0],
            settings=(*settings, *filter_settings(channel), _ENABLED),
            is_open=all_of(service.get("enabled"), None if asked is None else asked == proof),
            reads=True,
            configures=writes,
            switches=all_of(writes, _takes_commands(record)),
            grade=grade,
            proof_at=settings[1],
            in_clear=takes_clear_text(service),
            origin=origin,
        )


_REST_PARTIES: Final = {
    "none": (ANYONE, NO_PROOF),
    "token": ("holder of a token", ADEQUATE),
    "certificate": ("holder of a client certificate", STRONG),
}
"""A token is as good as the card makes it: not short, since nobody types it. Common practice, no source."""

_BUSES: Final = {Channel.MODBUS_TCP: "tls", Channel.BACNET_IP: "secure_connect"}
"""The setting by which a building protocol is answered in its secure variant only.

There both sides show a certificate. Source: Modbus/TCP Security protocol specification (2018);
ASHRAE 135 annex AB; both from memory.
"""


def _bus_ways(record: Settings, _context: Context) -> Iterator[Way]:
    """Yield the ways over Modbus TCP and BACnet/IP."""
    for channel, variant in _BUSES.items():
        service = _service(record, channel)
        secure, writes = service.get(variant), service.get("allows_write")
        settings = _settings(channel, variant, "allows_write")
        yield Way(
            channel=channel,
            party="holder of a client certificate" if secure else ANYONE,
            pointer=settings[0],
            settings=(*settings, *filter_settings(channel), _ENABLED),
            is_open=service.get("enabled"),
            reads=True,
            configures=writes,
            switches=all_of(writes, _takes_commands(record)),
            grade=STRONG if secure else ANY_PROOF if secure is None else NO_PROOF,
            proof_at=settings[1],
            in_clear=opposite(secure),
            origin=origin_of(record, service.get("allowed_sources")),
        )


def _tftp_ways(record: Settings, _context: Context) -> Iterator[Way]:
    """Yield the way by TFTP: files go in and out, and nothing is asked."""
    channel = Channel.TFTP
    service = _service(record, channel)
    settings = _settings(channel, "accepts_uploads")
    yield Way(
        channel=channel,
        party=ANYONE,
        pointer=settings[0],
        settings=(*settings, *filter_settings(channel)),
        is_open=service.get("enabled"),
        reads=None,
        configures=service.get("accepts_uploads"),
        switches=False,
        grade=NO_PROOF,
        proof_at=settings[0],
        in_clear=True,
        origin=origin_of(record, service.get("allowed_sources")),
    )


def _mqtt_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield the way through the broker that the card calls: by what others publish there."""
    mqtt = _service(record, Channel.MQTT)
    transport, accepts = mqtt.get("transport"), mqtt.get("accepts_commands")
    settings = _settings(Channel.MQTT, "authentication", "transport", "accepts_commands", more=(_ENABLED,))
    yield Way(
        channel=Channel.MQTT,
        party="whoever may publish at the broker",
        pointer=settings[0],
        settings=settings,
        is_open=mqtt.get("enabled"),
        reads=True,
        configures=accepts,
        switches=all_of(accepts, _takes_commands(record)),
        grade=_broker_grade(mqtt, record, context),
        proof_at=settings[1],
        in_clear=None if transport is None else transport != "tls",
        origin=CALLED,
    )


def _vendor_ways(record: Settings, _context: Context) -> Iterator[Way]:
    """Yield the way through the vendor's service; what that asks of whom, the record doesn't tell."""
    service = _service(record, Channel.REMOTE_VENDOR_SERVICE)
    writes = service.get("allows_write")
    settings = _settings(Channel.REMOTE_VENDOR_SERVICE, "allows_write", more=(_ENABLED,))
    yield Way(
        channel=Channel.REMOTE_VENDOR_SERVICE,
        party="the vendor's service",
        pointer=settings[0],
        settings=settings,
        is_open=service.get("enabled"),
        reads=True,
        configures=writes,
        switches=all_of(writes, _takes_commands(record)),
        grade=ANY_PROOF,
        proof_at=settings[0],
        in_clear=None,
        origin=CALLED,
    )


def _broker_grade(mqtt: Settings, record: Settings, context: Context) -> Grade:
    """Return what it takes to publish: no more than the card itself shows the broker."""
    asked = mqtt.get("authentication")
    if asked == "none":
        return NO_PROOF
    if asked == "password":
        return Grade(ANY_PROOF.easiest, secret_grade(mqtt.get("password"), {}, record, context).hardest)
    return ANY_PROOF


def _agent_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways through the listener for agents; whether they switch, no setting tells."""
    service = _service(record, Channel.SHUTDOWN_AGENT)
    asked = service.get("authentication")
    yield _agent_way(record, ANYONE, NO_PROOF, None if asked is None else asked == "none")
    if asked == "certificate":
        yield _agent_way(record, "holder of a client certificate", STRONG, is_party=True)
    elif asked != "none":
        is_secret = None if asked is None else True
        for place, agent in enumerate(record.get("shutdown", _EMPTY).get("agents", (_EMPTY,))):
            name = f"agent {agent.get('name', place + 1)}"
            grade = secret_grade(agent.get("secret"), agent, record, context)
            yield _agent_way(record, name, grade, all_of(agent.get("enabled"), is_secret), place)


def _agent_way(record: Settings, party: str, grade: Grade, is_party: Truth3, place: int = -1) -> Way:
    channel = Channel.SHUTDOWN_AGENT
    service = _service(record, channel)
    transport, commands = service.get("transport"), _takes_commands(record)
    own = () if place < 0 else (f"/shutdown/agents/{place}/secret",)
    settings = _settings(channel, "authentication", "transport", more=own)
    return Way(
        channel=channel,
        party=party,
        pointer=settings[0],
        settings=(*settings, *filter_settings(channel), _ENABLED),
        is_open=all_of(service.get("enabled"), is_party),
        reads=True,
        configures=False,
        switches=False if commands is False else None,
        grade=grade,
        proof_at=own[0] if own else settings[1],
        in_clear=None if transport is None else transport != "tls",
        origin=origin_of(record, service.get("allowed_sources")),
    )
