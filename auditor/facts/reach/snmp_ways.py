"""Ways in over SNMP: community by community and user by user. Holds no facts, decides no views."""

from collections.abc import Callable, Iterator
from functools import partial
from typing import Final, NamedTuple, TypeAlias

from auditor.facts.fact import Context, Settings
from auditor.facts.reach.grade import hardest_of, secret_grade
from auditor.facts.reach.origin import lets_nobody_in, origin_of
from auditor.facts.reach.party import Allowance
from auditor.facts.reach.way import ANY_PROOF, NO_PROOF, Channel, Grade, Truth3, Way, is_exposed
from auditor.facts.three_valued import all_of
from auditor.facts.ups_mib import CONFIG, CONTROL, ENTERPRISES, OBJECTS
from auditor.facts.vacm import (
    Doing,
    Subtrees,
    community_may_over,
    levels_of,
    surely_writes_nothing,
    user_may_at,
    view_holds_all,
)

_EMPTY: Settings = {}
_COMMANDS: Final = "/shutdown/remote_output_commands/enabled"
_VACM: Final = ("/snmp/vacm/groups", "/snmp/vacm/access", "/snmp/vacm/views")
_MODELS: Final = {"v1": Channel.SNMP_V1, "v2c": Channel.SNMP_V2C}
_WITHOUT_UPS_MIB: Final = frozenset({"pdu", "transfer_switch", "probe_hub"})
_ANYTHING: Final = frozenset({(1,)})

_Ask: TypeAlias = Callable[[Doing, Subtrees], Truth3]


class _Row(NamedTuple):
    """A community over one version, or a user at one level: who asks, and what speaks for them.

    ``can_ask`` tells whether the agent answers such a request at all. ``level`` is 0 for a
    community; ``ask`` says what the views allow.
    """

    channel: Channel
    party: str
    pointer: str
    can_ask: Truth3
    member: Settings
    level: int
    ask: _Ask


def snmp_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways in over SNMP: each community over each version, each user at each level.

    Where communities or users were not captured, one way stands for them all.
    """
    for row in _rows(record.get("snmp", _EMPTY)):
        way = _way(row, _allowance(row, record), record, context)
        if not lets_nobody_in(way.origin):
            yield way


def risky_snmp_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield those of the ways that may change something, and ought not to.

    They are those whose proof may be weak or easier, and those that may be heard from anywhere,
    or open to the public internet, whatever their proof.
    """
    snmp = record.get("snmp", _EMPTY)
    for row in _rows(snmp, who_write=True):
        allowed = _allowance(row, record, with_reading=False)
        if allowed.configures is False and allowed.switches is False:
            continue
        way = _way(row, allowed, record, context)
        is_risky = not way.grade.is_sound or is_exposed(way.origin, way.in_clear)
        if is_risky and not lets_nobody_in(way.origin):
            yield way


def _rows(snmp: Settings, *, who_write: bool = False) -> Iterator[_Row]:
    """Yield who may ask the agent, but for those that it surely does not answer.

    ``who_write`` leaves out those who say that they only read, where nothing could say else.
    """
    if snmp.get("enabled") is not False:
        yield from (
            row
            for row in (*_communities(snmp, who_write=who_write), *_users(snmp, who_write=who_write))
            if row.can_ask is not False
        )


def _communities(snmp: Settings, *, who_write: bool) -> Iterator[_Row]:
    members = snmp.get("communities")
    versions = snmp.get("versions", tuple(_MODELS))
    for place, member in enumerate((_EMPTY,) if members is None else members):
        if member.get("enabled") is False or (who_write and surely_writes_nothing(member, snmp)):
            continue
        pointer = "/snmp/communities" if members is None else f"/snmp/communities/{place}"
        party = (
            "communities, not captured" if members is None else f"community {member.get('name', place + 1)}"
        )
        for model in (model for model in _MODELS if model in versions):
            can_ask = all_of(snmp.get("enabled"), member.get("enabled"), _is_answered(snmp, model))
            ask = partial(community_may_over, member, snmp, model)
            yield _Row(_MODELS[model], party, pointer, can_ask, member, 0, ask)


def _users(snmp: Settings, *, who_write: bool) -> Iterator[_Row]:
    members = snmp.get("users")
    if "v3" not in snmp.get("versions", ("v3",)):
        return
    for place, member in enumerate((_EMPTY,) if members is None else members):
        if member.get("enabled") is False or (who_write and surely_writes_nothing(member, snmp)):
            continue
        pointer = "/snmp/users" if members is None else f"/snmp/users/{place}"
        party = "users, not captured" if members is None else f"user {member.get('name', place + 1)}"
        levels = ((_ANY_LEVEL, None),) if members is None else levels_of(member)
        for level, sure in levels:
            can_ask = all_of(snmp.get("enabled"), member.get("enabled"), _is_answered(snmp, "v3"), sure)
            ask = partial(user_may_at, member, snmp, level)
            yield _Row(Channel.SNMP_V3, party, pointer, can_ask, member, level, ask)


_COMMUNITY_MEMBERS: Final = ("community", "enabled", "access", "view")
_USER_MEMBERS: Final = ("enabled", "level", "access", "view")
_COMMUNITY: Final = 0
_UNPROVEN: Final = 1
_SIGNED: Final = 2
_PRIVATE: Final = 3
_ANY_LEVEL: Final = 4
"""Ranks of noAuthNoPriv, authNoPriv and authPriv; 0 is a community, 4 are users that were not captured."""


def _way(row: _Row, allowed: Allowance, record: Settings, context: Context) -> Way:
    return Way(
        channel=row.channel,
        party=row.party,
        pointer=row.pointer,
        settings=_settings(row, record.get("snmp", _EMPTY)),
        is_open=row.can_ask,
        reads=allowed.reads,
        configures=allowed.configures,
        switches=allowed.switches,
        grade=_grade(row, record, context),
        proof_at=f"{row.pointer}/{_PROOFS.get(row.level, 'auth_secret')}",
        in_clear=None if row.level == _ANY_LEVEL else row.level < _PRIVATE,
        origin=origin_of(record, row.member.get("allowed_sources")),
        filters=("/network/allowed_sources", f"{row.pointer}/allowed_sources"),
    )


_MEMBERS: Final = {
    _COMMUNITY: _COMMUNITY_MEMBERS,
    _UNPROVEN: _USER_MEMBERS,
    _SIGNED: (*_USER_MEMBERS, "auth_secret"),
    _PRIVATE: (*_USER_MEMBERS, "auth_secret", "priv_secret"),
    _ANY_LEVEL: _USER_MEMBERS,
}
"""Members of a row on which a request rests, by its level."""
_PROOFS: Final = {_COMMUNITY: "community", _UNPROVEN: "level"}


def _grade(row: _Row, record: Settings, context: Context) -> Grade:
    """Return what a request takes: the community, no more than a user's name, one key, or both."""
    member = row.member
    if row.level == _COMMUNITY:
        return secret_grade(member.get("community"), member, record, context)
    if row.level == _UNPROVEN:
        return NO_PROOF
    if row.level == _ANY_LEVEL:
        return ANY_PROOF
    auth = secret_grade(member.get("auth_secret"), member, record, context)
    if row.level < _PRIVATE:
        return auth
    return hardest_of(auth, secret_grade(member.get("priv_secret"), member, record, context))


def _is_answered(snmp: Settings, version: str) -> Truth3:
    versions = snmp.get("versions")
    return None if versions is None else version in versions


def _settings(row: _Row, snmp: Settings) -> tuple[str, ...]:
    """Return what lets somebody ask and says what they may; the tables of views only where there are any."""
    members = tuple(f"{row.pointer}/{name}" for name in _MEMBERS[row.level])
    own = (row.pointer, *members, "/snmp/enabled", "/snmp/versions", _COMMANDS)
    if not any(snmp.get("vacm", _EMPTY).values()):
        return own
    named = (f"{row.pointer}/security_name",) if row.level == _COMMUNITY else ()
    return (*own, *named, *_VACM)


def _allowance(row: _Row, record: Settings, *, with_reading: bool = True) -> Allowance:
    """Return what somebody may do to the equipment, by the MIB that it has.

    The UPS-MIB tells which objects switch outputs and which configure. Other equipment has objects of
    its own: who may write nothing can do neither, who may write everything can do both.
    """
    snmp, kind = record.get("snmp", _EMPTY), record.get("equipment", _EMPTY).get("kind")
    commands = record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY).get("enabled")
    readable = _ANYTHING if kind in _WITHOUT_UPS_MIB else OBJECTS
    reads = row.ask(Doing.READ, readable) if with_reading else None
    if kind in _WITHOUT_UPS_MIB:
        configures = switches = _writes_own_mib(row, snmp)
    else:
        configures, switches = row.ask(Doing.WRITE, CONFIG), row.ask(Doing.WRITE, CONTROL)
    if kind is None:
        own = _writes_own_mib(row, snmp)
        configures, switches = _same(configures, own), _same(switches, own)
    return Allowance(reads, configures, all_of(switches, commands))


def _writes_own_mib(row: _Row, snmp: Settings) -> Truth3:
    """Return whether somebody may write the objects of equipment that has a MIB of its own."""
    writes = row.ask(Doing.WRITE, _ANYTHING)
    is_whole = row.member.get("access") == "write" and view_holds_all(row.member, snmp, ENTERPRISES)
    return writes if writes is False or is_whole else None


def _same(one: Truth3, other: Truth3) -> Truth3:
    return one if one is other else None
