"""Ways in for those who log in by a name: pages, prompts and file transfer. Holds no facts."""

from collections.abc import Callable, Iterator, Mapping
from typing import Final, NamedTuple

from auditor.facts.fact import Context, Settings
from auditor.facts.network import has_global_address
from auditor.facts.reach.grade import STRONG
from auditor.facts.reach.origin import AT_THE_CARD, lets_nobody_in, origin_of
from auditor.facts.reach.party import Party, allowance, parties
from auditor.facts.reach.way import ANY_PROOF, Channel, Grade, Origin, Proof, Truth3, Way, is_exposed
from auditor.facts.three_valued import all_of, opposite

_EMPTY: Settings = {}


class Door(NamedTuple):
    """A service behind which people log in.

    ``writes`` tells whether anything can be changed behind it. ``settings`` are those that open
    the door, the first above all. Where not even the state of the door ``is_captured``, one way
    stands for everybody who may log in there.
    """

    channel: Channel
    is_open: Truth3
    in_clear: Truth3
    origin: Origin
    settings: tuple[str, ...]
    writes: Truth3 = True
    is_captured: bool = True


class _Kind(NamedTuple):
    """What is read of a service: more that it takes to be open, and whether it travels in clear."""

    condition: Callable[[Settings], Truth3]
    in_clear: Callable[[Settings], Truth3]
    settings: tuple[str, ...] = ()
    writes: Callable[[Settings], Truth3] = lambda _service: True


def _always(_service: Settings) -> Truth3:
    return True


def _never(_service: Settings) -> Truth3:
    return False


def _is_not_sent_on(service: Settings) -> Truth3:
    return opposite(service.get("redirects_to_https"))


def _is_without_tls(service: Settings) -> Truth3:
    tls = service.get("tls")
    return None if tls is None else tls != "required"


def _takes_names(service: Settings) -> Truth3:
    proof = service.get("authentication")
    return None if proof is None else proof in ("basic", "session")


def takes_clear_text(service: Settings) -> Truth3:
    """Return whether a programming interface answers over plain HTTP, beside TLS or alone."""
    transport = service.get("transport")
    return None if transport is None else transport != "https"


_KINDS: Final[Mapping[Channel, _Kind]] = {
    Channel.HTTP: _Kind(_is_not_sent_on, _always, ("redirects_to_https",)),
    Channel.HTTPS: _Kind(_always, _never),
    Channel.TELNET: _Kind(_always, _always),
    Channel.SSH: _Kind(_always, _never),
    Channel.FTP: _Kind(_always, _is_without_tls, ("tls",)),
    Channel.SFTP: _Kind(_always, _never),
    Channel.SCP: _Kind(_always, _never),
    Channel.REST_API: _Kind(
        _takes_names,
        takes_clear_text,
        ("authentication", "transport", "allows_write"),
        lambda service: service.get("allows_write"),
    ),
}
_FILES: Final = frozenset({Channel.FTP, Channel.SFTP, Channel.SCP})
_BY_KEY: Final = frozenset({Channel.SSH, Channel.SFTP, Channel.SCP})
_CONSOLE: Final = ("/services/serial_console/enabled", "/services/serial_console/requires_login")
_PASSWORD_LOGIN: Final = "/ssh/password_login"  # noqa: S105 - a setting's place
_ANYBODY: Final = Party("whoever may log in", "", "/accounts", None, ANY_PROOF, "/accounts", ("/accounts",))
_COMMANDS: Final = "/shutdown/remote_output_commands"


def filter_settings(channel: Channel) -> tuple[str, ...]:
    """Return the settings that say from where a service can be called."""
    return "/network/allowed_sources", f"/services/{channel}/allowed_sources"


_SETTINGS: Final = {
    channel: tuple(f"/services/{channel}/{name}" for name in ("enabled", *kind.settings))
    for channel, kind in _KINDS.items()
}


def login_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways through each service at which somebody logs in, service by service."""
    everybody = parties(record, context)
    for door in (*network_doors(record), *_console_door(record)):
        for party in everybody if door.is_captured else (_ANYBODY,):
            yield _way(door, party, record)


def risky_login_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways over the network by which a login may change something and ought not to.

    They are those whose proof may be weak or easier, and those that may be heard from anywhere,
    or open to the public internet, whatever their proof.
    """
    who_change = parties(record, context, who_change=True)
    all_sound = all(party.grade.is_sound for party in who_change)
    is_public = has_global_address(record) is not False
    for door in network_doors(record, in_clear_only=all_sound and not is_public) if who_change else ():
        exposed = is_exposed(door.origin, door.in_clear)
        for party in who_change if door.is_captured else (_ANYBODY,):
            if exposed or not party.grade.is_sound:
                yield _way(door, party, record)


def network_doors(record: Settings, *, in_clear_only: bool = False) -> Iterator[Door]:
    """Yield the services that may be open to people who log in over the network."""
    services = record.get("services", _EMPTY)
    for channel, kind in _KINDS.items():
        service = services.get(channel, _EMPTY)
        if in_clear_only and "enabled" in service and kind.in_clear(service) is False:
            continue
        if door := _door(channel, service, record):
            yield door


def _door(channel: Channel, service: Settings, record: Settings) -> Door | None:
    """Return a service as a door, None where it is closed or its filters let nobody in."""
    enabled, kind = service.get("enabled"), _KINDS[channel]
    is_open = all_of(enabled, kind.condition(service)) if enabled is not False else False
    if is_open is False:
        return None
    origin = origin_of(record, service.get("allowed_sources"))
    if lets_nobody_in(origin):
        return None
    return Door(
        channel=channel,
        is_open=is_open,
        in_clear=kind.in_clear(service),
        origin=origin,
        settings=_SETTINGS[channel],
        writes=kind.writes(service),
        is_captured=enabled is not None,
    )


def _console_door(record: Settings) -> Iterator[Door]:
    console = record.get("services", _EMPTY).get("serial_console", _EMPTY)
    is_open = all_of(console.get("enabled"), console.get("requires_login"))
    if is_open is not False:
        yield Door(
            channel=Channel.SERIAL_CONSOLE,
            is_open=is_open,
            in_clear=False,
            origin=AT_THE_CARD,
            settings=_CONSOLE,
            is_captured="enabled" in console,
        )


def _way(door: Door, party: Party, record: Settings) -> Way:
    allowed = allowance(party.role, record)
    switches = all_of(_switching_at(door, allowed.switches), door.writes)
    grade, proof_at = _proof(door, party, record)
    return Way(
        channel=door.channel,
        party=party.name,
        pointer=door.settings[0],
        settings=(*door.settings, *party.settings, *_command_settings(switches, party.role)),
        is_open=all_of(door.is_open, party.is_active),
        reads=allowed.reads,
        configures=all_of(allowed.configures, door.writes),
        switches=switches,
        grade=grade,
        proof_at=proof_at,
        in_clear=door.in_clear,
        origin=door.origin,
        filters=() if door.channel is Channel.SERIAL_CONSOLE else filter_settings(door.channel),
        role=party.role,
        condition=party.condition,
        confirmation=_confirmation(record) if switches is not False else False,
    )


def _switching_at(door: Door, switches: Truth3) -> Truth3:
    """Return whether outputs can be switched at a door by one whom the card lets switch remotely.

    Files switch nothing. What a console takes while remote switching is off the record doesn't tell.
    """
    if door.channel in _FILES:
        return False
    return None if door.channel is Channel.SERIAL_CONSOLE and switches is False else switches


def _proof(door: Door, party: Party, record: Settings) -> tuple[Grade, str]:
    """Return the grade of a party's proof at a door: SSH may take keys alone, of everybody."""
    by_password = record.get("ssh", _EMPTY).get("password_login") if door.channel in _BY_KEY else True
    if by_password:
        return party.grade, party.proof_at
    if by_password is False:
        return STRONG, _PASSWORD_LOGIN
    is_central = party.grade.proof is Proof.DIRECTORY
    return Grade(Proof.ADEQUATE if is_central else party.grade.easiest, Proof.STRONG), _PASSWORD_LOGIN


def _command_settings(switches: Truth3, role: str) -> tuple[str, ...]:
    """Return the settings that let a role switch; an administrator has the highest role there is."""
    if switches is False:
        return ()
    least = () if role == "administrator" else (f"{_COMMANDS}/least_role",)
    return (f"{_COMMANDS}/enabled", *least)


def _confirmation(record: Settings) -> Truth3:
    confirmation: Truth3 = (
        record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY).get("confirmation")
    )
    return confirmation
