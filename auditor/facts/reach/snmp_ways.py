"""Ways in over SNMP: community by community and user by user. Holds no facts, decides no views."""

from collections.abc import Callable, Iterator
from functools import partial
from typing import Final, TypeAlias

from auditor.facts.fact import Context, Settings
from auditor.facts.reach.grade import hardest_of, secret_grade
from auditor.facts.reach.origin import lets_nobody_in, origin_of
from auditor.facts.reach.party import Allowance
from auditor.facts.reach.way import ANY_PROOF, NO_PROOF, Channel, Grade, Truth3, Way
from auditor.facts.three_valued import all_of
from auditor.facts.ups_mib import CONFIG, CONTROL, OBJECTS
from auditor.facts.vacm import Doing, Subtrees, community_may_over, levels_of, user_may_at

_EMPTY: Settings = {}
_COMMANDS: Final = "/shutdown/remote_output_commands/enabled"
_VACM: Final = ("/snmp/vacm/groups", "/snmp/vacm/access", "/snmp/vacm/views")
_MODELS: Final = {"v1": Channel.SNMP_V1, "v2c": Channel.SNMP_V2C}
_WITHOUT_UPS_MIB: Final = frozenset({"pdu", "transfer_switch", "probe_hub"})
_ANYTHING: Final = frozenset({(1,)})

_Ask: TypeAlias = Callable[[Doing, Subtrees], Truth3]


def snmp_ways(record: Settings, context: Context) -> Iterator[Way]:
    """Yield the ways in over SNMP: each community over each version, each user at each level.

    Where communities or users were not captured, one way stands for them all.
    """
    snmp = record.get("snmp", _EMPTY)
    if snmp.get("enabled") is False:
        return
    ways = (*_community_ways(record, snmp, context), *_user_ways(record, snmp, context))
    yield from (way for way in ways if way.is_open is not False and not lets_nobody_in(way.origin))


def _community_ways(record: Settings, snmp: Settings, context: Context) -> Iterator[Way]:
    rows = snmp.get("communities")
    for place, row in enumerate((_EMPTY,) if rows is None else rows):
        pointer = "/snmp/communities" if rows is None else f"/snmp/communities/{place}"
        name = "communities, not captured" if rows is None else f"community {row.get('name', place + 1)}"
        grade = secret_grade(row.get("community"), row, record, context)
        members = ("community", "enabled", "access", "view", "security_name", "allowed_sources")
        settings = _settings(pointer, members)
        for model, channel in _MODELS.items():
            allowed = _allowance(partial(community_may_over, row, snmp, model), row, record)
            yield Way(
                channel=channel,
                party=name,
                pointer=pointer,
                settings=settings,
                is_open=all_of(snmp.get("enabled"), row.get("enabled"), _is_answered(snmp, model)),
                reads=allowed.reads,
                configures=allowed.configures,
                switches=allowed.switches,
                grade=grade,
                proof_at=f"{pointer}/community",
                in_clear=True,
                origin=origin_of(record, row.get("allowed_sources")),
            )


def _user_ways(record: Settings, snmp: Settings, context: Context) -> Iterator[Way]:
    rows = snmp.get("users")
    if rows is None:
        way = _user_way(_EMPTY, ("/snmp/users", _UNPROVEN, None), record, context)
        yield way._replace(grade=ANY_PROOF, in_clear=None)
    for place, user in enumerate(rows or ()):
        for level, can_ask in levels_of(user):
            yield _user_way(user, (f"/snmp/users/{place}", level, can_ask), record, context)


def _user_way(user: Settings, at: tuple[str, int, Truth3], record: Settings, context: Context) -> Way:
    pointer, level, can_ask = at
    snmp = record.get("snmp", _EMPTY)
    allowed = _allowance(partial(user_may_at, user, snmp, level), user, record)
    members = ("level", "enabled", "access", "view", "auth_secret", "priv_secret", "allowed_sources")
    return Way(
        channel=Channel.SNMP_V3,
        party=f"user {user['name']}" if "name" in user else "users, not captured",
        pointer=pointer,
        settings=_settings(pointer, members),
        is_open=all_of(snmp.get("enabled"), user.get("enabled"), _is_answered(snmp, "v3"), can_ask),
        reads=allowed.reads,
        configures=allowed.configures,
        switches=allowed.switches,
        grade=_user_grade(user, level, record, context),
        proof_at=f"{pointer}/{'level' if level == _UNPROVEN else 'auth_secret'}",
        in_clear=level < _PRIVATE,
        origin=origin_of(record, user.get("allowed_sources")),
    )


_UNPROVEN: Final = 1
_PRIVATE: Final = 3
"""Ranks of noAuthNoPriv and authPriv."""


def _user_grade(user: Settings, level: int, record: Settings, context: Context) -> Grade:
    """Return what a request at a level takes: no more than the name, one key, or both."""
    if level == _UNPROVEN:
        return NO_PROOF
    auth = secret_grade(user.get("auth_secret"), user, record, context)
    if level < _PRIVATE:
        return auth
    return hardest_of(auth, secret_grade(user.get("priv_secret"), user, record, context))


def _is_answered(snmp: Settings, version: str) -> Truth3:
    versions = snmp.get("versions")
    return None if versions is None else version in versions


def _settings(pointer: str, members: tuple[str, ...]) -> tuple[str, ...]:
    own = tuple(f"{pointer}/{name}" for name in members)
    return (pointer, *own, "/snmp/enabled", "/snmp/versions", *_VACM, "/network/allowed_sources", _COMMANDS)


def _allowance(ask: _Ask, row: Settings, record: Settings) -> Allowance:
    """Return what somebody may do to the equipment, by the MIB that it has.

    The UPS-MIB tells which objects switch outputs and which configure. Other equipment has objects of
    its own: who may write nothing can do neither, who may write everything can do both.
    """
    kind = record.get("equipment", _EMPTY).get("kind")
    as_ups = _by_ups_mib(ask) if kind not in _WITHOUT_UPS_MIB else None
    as_other = _by_any_mib(ask, row) if kind is None or kind in _WITHOUT_UPS_MIB else None
    commands = record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY).get("enabled")
    reads, configures, switches = _both(as_ups or as_other, as_other or as_ups)
    return Allowance(reads, configures, all_of(switches, commands))


def _by_ups_mib(ask: _Ask) -> Allowance:
    return Allowance(ask(Doing.READ, OBJECTS), ask(Doing.WRITE, CONFIG), ask(Doing.WRITE, CONTROL))


def _by_any_mib(ask: _Ask, row: Settings) -> Allowance:
    reads, writes = ask(Doing.READ, _ANYTHING), ask(Doing.WRITE, _ANYTHING)
    is_whole = row.get("access") == "write" and row.get("view") == ""
    does = writes if writes is False or is_whole else None
    return Allowance(reads, does, does)


def _both(one: Allowance | None, other: Allowance | None) -> Allowance:
    if one is None or other is None:
        raise ValueError("equipment has the UPS-MIB, or it has not")
    return Allowance(*(a if a is b else None for a, b in zip(one, other, strict=True)))
