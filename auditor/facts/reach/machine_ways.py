"""Ways in over protocols between machines, and by upload, broker or vendor. Holds no facts."""

from collections.abc import Callable, Iterator, Mapping
from typing import Final, TypeAlias

from auditor.facts.fact import Context, Settings
from auditor.facts.reach.grade import ADEQUATE, STRONG, secret_grade
from auditor.facts.reach.login_ways import filter_settings, takes_clear_text
from auditor.facts.reach.origin import CALLED, lets_nobody_in, origin_of
from auditor.facts.reach.way import ANY_PROOF, NO_PROOF, Channel, Grade, Truth3, Way
from auditor.facts.three_valued import all_of, opposite

_EMPTY: Settings = {}
_ENABLED: Final = "/shutdown/remote_output_commands/enabled"
ANYONE: Final = "anyone"

_Maker: TypeAlias = Callable[[Channel, Settings, Settings, Context], Iterator[Way]]
"""Makes the ways through a service: of its channel, its settings, the record and the context."""


def machine_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways in that ask for no name: protocols of machines, uploads, broker, vendor."""
    services = record.get("services", _EMPTY)
    for channel, make in _MAKERS.items():
        service = services.get(channel, _EMPTY)
        if service.get("enabled") is not False:
            yield from filter(_may_be_open, make(channel, service, record, context))


def risky_machine_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield those of the ways that may change something; not those of agents, of whom no setting tells."""
    services = record.get("services", _EMPTY)
    for channel, writes in _WRITES.items():
        service = services.get(channel, _EMPTY)
        if service.get("enabled") is not False and service.get(writes) is not False:
            yield from filter(_may_be_open, _MAKERS[channel](channel, service, record, context))


def _may_be_open(way: Way) -> bool:
    return way.is_open is not False and not lets_nobody_in(way.origin)


def _takes_commands(record: Settings) -> Truth3:
    enabled: Truth3 = record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY).get("enabled")
    return enabled


def _settings(channel: Channel, *names: str, more: tuple[str, ...] = ()) -> tuple[str, ...]:
    at_service = tuple(f"/services/{channel}/{name}" for name in ("enabled", *names))
    return (*at_service, *more)


def _rest_ways(channel: Channel, service: Settings, record: Settings, _context: Context) -> Iterator[Way]:
    """Yield the ways through the programming interface for those who have no account there."""
    asked, writes = service.get("authentication"), service.get("allows_write")
    origin = origin_of(record, service.get("allowed_sources"))
    settings = _settings(channel, "authentication", "transport", "allows_write")
    for proof, (party, grade) in _REST_PARTIES.items():
        yield Way(
            channel=channel,
            party=party,
            pointer=settings[0],
            settings=(*settings, _ENABLED),
            is_open=all_of(service.get("enabled"), None if asked is None else asked == proof),
            reads=True,
            configures=writes,
            switches=all_of(writes, _takes_commands(record)),
            grade=grade,
            proof_at=settings[1],
            in_clear=takes_clear_text(service),
            origin=origin,
            filters=filter_settings(channel),
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


def _bus_ways(channel: Channel, service: Settings, record: Settings, _context: Context) -> Iterator[Way]:
    """Yield the way over Modbus TCP or BACnet/IP."""
    secure, writes = service.get(_BUSES[channel]), service.get("allows_write")
    settings = _settings(channel, _BUSES[channel], "allows_write")
    yield Way(
        channel=channel,
        party="holder of a client certificate" if secure else ANYONE,
        pointer=settings[0],
        settings=(*settings, _ENABLED),
        is_open=service.get("enabled"),
        reads=True,
        configures=writes,
        switches=all_of(writes, _takes_commands(record)),
        grade=STRONG if secure else ANY_PROOF if secure is None else NO_PROOF,
        proof_at=settings[1],
        in_clear=opposite(secure),
        origin=origin_of(record, service.get("allowed_sources")),
        filters=filter_settings(channel),
    )


def _tftp_ways(channel: Channel, service: Settings, record: Settings, _context: Context) -> Iterator[Way]:
    """Yield the way by TFTP: files go in and out, and nothing is asked."""
    settings = _settings(channel, "accepts_uploads")
    yield Way(
        channel=channel,
        party=ANYONE,
        pointer=settings[0],
        settings=settings,
        is_open=service.get("enabled"),
        reads=None,
        configures=service.get("accepts_uploads"),
        switches=False,
        grade=NO_PROOF,
        proof_at=settings[0],
        in_clear=True,
        origin=origin_of(record, service.get("allowed_sources")),
        filters=filter_settings(channel),
    )


def _mqtt_ways(channel: Channel, mqtt: Settings, record: Settings, context: Context) -> Iterator[Way]:
    """Yield the way through the broker that the card calls: by what others publish there."""
    transport, accepts = mqtt.get("transport"), mqtt.get("accepts_commands")
    settings = _settings(channel, "authentication", "transport", "accepts_commands", more=(_ENABLED,))
    yield Way(
        channel=channel,
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


def _vendor_ways(channel: Channel, service: Settings, record: Settings, _context: Context) -> Iterator[Way]:
    """Yield the way through the vendor's service; what that asks of whom, the record doesn't tell."""
    writes = service.get("allows_write")
    settings = _settings(channel, "allows_write", more=(_ENABLED,))
    yield Way(
        channel=channel,
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


def _agent_ways(channel: Channel, service: Settings, record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways through the listener for agents; whether they switch, no setting tells."""
    asked = service.get("authentication")
    general = _agent_way(channel, service, record)
    yield general._replace(is_open=all_of(general.is_open, None if asked is None else asked == "none"))
    if asked == "certificate":
        yield general._replace(party="holder of a client certificate", grade=STRONG)
    elif asked != "none":
        asks = None if asked is None else True
        for place, agent in enumerate(record.get("shutdown", _EMPTY).get("agents", (_EMPTY,))):
            secret = f"/shutdown/agents/{place}/secret"
            yield general._replace(
                party=f"agent {agent.get('name', place + 1)}",
                is_open=all_of(general.is_open, agent.get("enabled"), asks),
                grade=secret_grade(agent.get("secret"), agent, record, context),
                proof_at=secret,
                settings=(*general.settings, secret),
            )


def _agent_way(channel: Channel, service: Settings, record: Settings) -> Way:
    """Return the way of whoever calls without proof, as if the listener let them in."""
    transport = service.get("transport")
    settings = _settings(channel, "authentication", "transport")
    return Way(
        channel=channel,
        party=ANYONE,
        pointer=settings[0],
        settings=(*settings, _ENABLED),
        is_open=service.get("enabled"),
        reads=True,
        configures=False,
        switches=False if _takes_commands(record) is False else None,
        grade=NO_PROOF,
        proof_at=settings[1],
        in_clear=None if transport is None else transport != "tls",
        origin=origin_of(record, service.get("allowed_sources")),
        filters=filter_settings(channel),
    )


_MAKERS: Final[Mapping[Channel, _Maker]] = {
    Channel.REST_API: _rest_ways,
    Channel.MODBUS_TCP: _bus_ways,
    Channel.BACNET_IP: _bus_ways,
    Channel.TFTP: _tftp_ways,
    Channel.MQTT: _mqtt_ways,
    Channel.REMOTE_VENDOR_SERVICE: _vendor_ways,
    Channel.SHUTDOWN_AGENT: _agent_ways,
}
_WRITES: Final = {
    Channel.REST_API: "allows_write",
    Channel.MODBUS_TCP: "allows_write",
    Channel.BACNET_IP: "allows_write",
    Channel.TFTP: "accepts_uploads",
    Channel.MQTT: "accepts_commands",
    Channel.REMOTE_VENDOR_SERVICE: "allows_write",
}
"""The setting of each service without which nothing can be changed through it."""
