"""Facts on view-based access control of SNMP: who may write what. Reads no secrets.

Two things tell what a community or a user may do: its own row (``access``, ``view``), and the
tables of RFC 3415 (groups, access rows, views). Either is believed where the other is unknown;
where they contradict each other, nothing is known. Tables that are all empty say that the card
has no such control, and leave the word to the row.

Requests are asked in the default context for communities (RFC 3584 section 5.2), and for users
in every context that an access row names. None as an answer is *unknown*.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from operator import methodcaller
from typing import Final, NamedTuple, TypeAlias

from auditor.facts.fact import Context, Settings, fact
from auditor.facts.three_valued import all_of, any_of
from auditor.facts.ups_mib import CONTROL, Oid
from auditor.facts.vacm_view import Families, Family, includes_all, includes_any

_EMPTY: Settings = {}
_ACCESS = "/snmp/vacm/access"
_USERS = "/snmp/users"
_LEVELS: Final[Mapping[str, int]] = {"noAuthNoPriv": 1, "authNoPriv": 2, "authPriv": 3}
_COMMUNITY_MODELS: Final = frozenset({"v1", "v2c"})
_VIEWS: Final = ("read_view", "write_view", "notify_view")

Subtrees: TypeAlias = frozenset[Oid]
"""Object identifiers; each stands for itself and all below it."""


class Doing(StrEnum):
    """What is asked for: the member of an access row that names its view."""

    READ = "read_view"
    WRITE = "write_view"
    NOTIFY = "notify_view"


class Request(NamedTuple):
    """Who asks: security model, securityName, security level (1 to 3) and context name."""

    security_model: str
    security_name: str
    level: int
    context: str = ""


def may(vacm: Settings, request: Request, doing: Doing, subtrees: Subtrees) -> bool | None:
    """Return whether a request is allowed for anything of some subtrees.

    Source: RFC 3415 section 3.2 (isAccessAllowed), section 4 (choice of the access row).
    """
    rows = vacm.get("access")
    if rows is None:
        return None
    verdicts = (_allows(vacm, row, doing, subtrees) for row in _deciding_rows(vacm, rows, request))
    return _agreed(verdicts)


def community_may(row: Settings, record: Settings, *, doing: Doing, subtrees: Subtrees) -> bool | None:
    """Return whether a community that is answered may do something with anything of some subtrees.

    False where the agent, the row or both versions that know communities are off.
    """
    snmp = record.get("snmp", _EMPTY)
    models = _models_answered(snmp)
    is_live = all_of(snmp.get("enabled"), row.get("enabled"), None if models is None else bool(models))
    if is_live is False:
        return False
    name = row.get("security_name")

    def by_tables(vacm: Settings) -> bool | None:
        if name is None:
            return None
        asked = (Request(model, name, 1) for model in models or _COMMUNITY_MODELS)
        return any_of(may(vacm, request, doing, subtrees) for request in asked)

    told = _told_by_row(row, snmp, doing, subtrees)
    return all_of(is_live, _weighed(told, snmp, doing, by_tables))


def user_may(user: Settings, record: Settings, *, doing: Doing, subtrees: Subtrees) -> bool | None:
    """Return whether a v3 user may do something with anything of some subtrees, at any of its levels.

    False where the agent, the user or version 3 is off.
    """
    snmp = record.get("snmp", _EMPTY)
    versions = snmp.get("versions")
    is_live = all_of(snmp.get("enabled"), user.get("enabled"), None if versions is None else "v3" in versions)
    if is_live is False:
        return False

    def by_tables(vacm: Settings) -> bool | None:
        return _by_levels(user, lambda level: _in_any_context(vacm, user, level, (doing, subtrees)))

    told = _told_by_row(user, snmp, doing, subtrees)
    return all_of(is_live, _weighed(told, snmp, doing, by_tables))


def community_may_over(
    row: Settings, snmp: Settings, model: str, doing: Doing, subtrees: Subtrees
) -> bool | None:
    """Return whether a community may do what is asked over one version, if the agent answers it there."""
    name = row.get("security_name")

    def by_tables(vacm: Settings) -> bool | None:
        return None if name is None else may(vacm, Request(model, name, 1), doing, subtrees)

    return _weighed(_told_by_row(row, snmp, doing, subtrees), snmp, doing, by_tables)


def user_may_at(user: Settings, snmp: Settings, level: int, doing: Doing, subtrees: Subtrees) -> bool | None:
    """Return whether a v3 user may do what is asked at one level, 1 to 3, if the agent answers it there."""

    def by_tables(vacm: Settings) -> bool | None:
        return _in_any_context(vacm, user, level, (doing, subtrees))

    return _weighed(_told_by_row(user, snmp, doing, subtrees), snmp, doing, by_tables)


def surely_writes_nothing(row: Settings, snmp: Settings) -> bool:
    """Return whether a community or user says that it writes nothing, and no access row could say else."""
    may_read_only = row.get("access") in ("read", "none")
    return may_read_only and not _names_view(snmp.get("vacm", _EMPTY), Doing.WRITE)


def view_holds_all(row: Settings, snmp: Settings, subtree: Oid) -> bool | None:
    """Return whether the view that limits a community or user holds all of a subtree; without one it does."""
    view, views = row.get("view"), snmp.get("vacm", _EMPTY).get("views")
    if not view or views is None:
        return True if view == "" else None
    return includes_all(_families(views, view), subtree)


def levels_of(user: Settings) -> tuple[tuple[int, bool | None], ...]:
    """Return the levels at which a user may ask, least first: True where it surely can, else None."""
    sure, possible = _level_ranges(user)
    return tuple((level, True if level in sure else None) for level in possible)


def community_may_switch_outputs(row: Settings, record: Settings) -> bool | None:
    """Return whether a community may write an object of the UPS-MIB that switches the output."""
    written = community_may(row, record, doing=Doing.WRITE, subtrees=CONTROL)
    return all_of(written, _takes_output_commands(record))


@fact(
    reads=("/access", "/view", "/enabled", "/level"),
    about=_USERS,
    source="RFC 3415 section 3.2; RFC 1628 section 4 (upsControl)",
)
def user_may_switch_outputs(member: Settings, record: Settings, _context: Context) -> bool | None:
    """Whether the user may write an object of the UPS-MIB that switches the output."""
    written = user_may(member, record, doing=Doing.WRITE, subtrees=CONTROL)
    return all_of(written, _takes_output_commands(record))


@fact(reads=("/level", "/security_model", "/write_view"), about=_ACCESS, source="RFC 3415 section 3.2")
def access_row_switches_without_proof(member: Settings, record: Settings, _context: Context) -> bool | None:
    """Whether the row lets a v3 request without authentication write what switches the output.

    A row for v1 or v2c alone is another matter: there, no request has proof.
    """
    level, model = member.get("level"), member.get("security_model")
    unproven = None if level is None else level == "noAuthNoPriv"
    for_v3 = None if model is None else model not in _COMMUNITY_MODELS
    if unproven is False or for_v3 is False:
        return False
    vacm = record.get("snmp", _EMPTY).get("vacm", _EMPTY)
    return all_of(unproven, for_v3, _allows(vacm, member, Doing.WRITE, CONTROL))


@fact(
    reads=("/snmp/vacm/views", _ACCESS, "/snmp/communities", _USERS),
    source="RFC 3415 section 3.2 (noSuchView)",
)
def undefined_views(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """List the views that are named in use but have no rows, sorted; one known is enough.

    Communities and users that are off use nothing.
    """
    snmp = record.get("snmp", _EMPTY)
    vacm = snmp.get("vacm", _EMPTY)
    views = vacm.get("views")
    defined = {row.get("name") for row in views or ()}
    named = list(_named_views(snmp, vacm))
    wanting = {name for name, is_used in named if name and is_used and name not in defined}
    if views is not None and None not in defined and wanting:
        return tuple(sorted(wanting))
    doubtful = any(name is None or (name and name not in defined) for name, _ in named)
    return None if doubtful else ()


def _named_views(snmp: Settings, vacm: Settings) -> Iterator[tuple[str | None, bool | None]]:
    """Yield the names of views with whether they are in use; None for what was not captured."""
    for rows in (vacm.get("access"), snmp.get("communities"), snmp.get("users")):
        if rows is None:
            yield None, None
    for row in vacm.get("access", ()):
        yield from ((row.get(kind), True) for kind in _VIEWS)
    for row in (*snmp.get("communities", ()), *snmp.get("users", ())):
        if row.get("enabled") is not False:
            yield row.get("view"), row.get("enabled")


def _models_answered(snmp: Settings) -> frozenset[str] | None:
    versions = snmp.get("versions")
    return None if versions is None else _COMMUNITY_MODELS.intersection(versions)


def _takes_output_commands(record: Settings) -> bool | None:
    commands: Settings = record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY)
    enabled: bool | None = commands.get("enabled")
    return enabled


def _told_by_row(row: Settings, snmp: Settings, doing: Doing, subtrees: Subtrees) -> bool | None:
    """Return what the row of a community or user says of itself; of notifications it says nothing."""
    access = row.get("access")
    if access is None or doing is Doing.NOTIFY:
        return None
    if access == "none" or (access == "read" and doing is Doing.WRITE):
        return False
    return _holds(snmp.get("vacm", _EMPTY), row.get("view"), subtrees, without=True)


def _holds(vacm: Settings, view: str | None, subtrees: Subtrees, *, without: bool = False) -> bool | None:
    """Return whether a view holds anything of some subtrees; ``without`` is the answer for no view."""
    if not view:
        return None if view is None else without
    views = vacm.get("views")
    return None if views is None else includes_any(_families(views, view), subtrees)


def _families(views: Sequence[Settings], name: str) -> Families:
    return tuple(
        Family(row.get("subtree"), row.get("mask"), row.get("type"), "name" in row)
        for row in views
        if row.get("name", name) == name
    )


def _weighed(
    told: bool | None,  # noqa: FBT001 - a truth is the datum
    snmp: Settings,
    doing: Doing,
    ask: Callable[[Settings], bool | None],
) -> bool | None:
    """Return what the row and the tables say together; ``ask`` has the tables say it.

    Tables that are all empty, or may yet prove to be, say nothing. Nor can they contradict a no
    where no access row names a view: the usual case, decided without asking.
    """
    vacm: Settings = snmp.get("vacm", _EMPTY)
    if told is False and not _names_view(vacm, doing):
        return False
    rows = vacm.get("access", ())
    in_use = rows or vacm.get("groups") or vacm.get("views")
    return _consensus(told, ask(vacm) if in_use else None)


def _names_view(vacm: Settings, doing: Doing) -> bool:
    return any(map(methodcaller("get", doing), vacm.get("access", ())))


def _by_levels(user: Settings, ask: Callable[[int], bool | None]) -> bool | None:
    """Return whether some level that the user can ask at gets a yes.

    It can ask at each level from the least that is accepted of it to the highest for which it
    has protocols; while these are not known, only the levels between all of them are sure.
    """
    sure, possible = _level_ranges(user)
    verdicts = {rank: ask(rank) for rank in possible}
    if any(verdicts[rank] for rank in sure):
        return True
    return None if any(verdict is not False for verdict in verdicts.values()) else False


def _level_ranges(user: Settings) -> tuple[range, range]:
    """Return the levels at which a user surely can ask, and those at which it may."""
    level = user.get("level")
    least = _LEVELS.values() if level is None else (_LEVELS[level],)
    highest = _highest_levels(user.get("auth_protocol"), user.get("priv_protocol"))
    return range(max(least), min(highest) + 1), range(min(least), max(highest) + 1)


def _highest_levels(auth: str | None, priv: str | None) -> tuple[int, ...]:
    """Return the highest level of a user with these protocols, or all that it may be."""
    with_auth = (2,) if priv == "none" else (2, 3) if priv is None else (3,)
    return (1,) if auth == "none" else (1, *with_auth) if auth is None else with_auth


def _in_any_context(vacm: Settings, user: Settings, level: int, asked: tuple[Doing, Subtrees]) -> bool | None:
    name = user.get("name")
    if name is None:
        return None
    contexts = {""} | {row.get("context", "") for row in vacm.get("access", ())}
    return any_of(may(vacm, Request("usm", name, level, context), *asked) for context in contexts)


def _deciding_rows(vacm: Settings, rows: Sequence[Settings], request: Request) -> Iterable[Settings | None]:
    """Return the access row that decides, None for none; several where it may be any of them."""
    groups = _groups_of(vacm.get("groups"), request)
    fits = [(row, fit) for row in rows if (fit := _fits(row, groups, request)) is not False]
    sure = [row for row, fit in fits if fit]
    if len(sure) < len(fits):
        return [row for row, _ in fits] + ([] if sure else [None])
    best = max((_rank(row, request) for row in sure), default=None)
    return [row for row in sure if _rank(row, request) == best] or [None]


def _groups_of(rows: Sequence[Settings] | None, request: Request) -> Mapping[str, bool] | None:
    """Return the groups that a requester is in (true) or may be in; None where it may be any."""
    if rows is None:
        return None
    found: dict[str, bool] = {}
    for row in rows:
        model, name = row.get("security_model"), row.get("security_name")
        if model in (None, request.security_model) and name in (None, request.security_name):
            if "group" not in row:
                return None
            found[row["group"]] = found.get(row["group"], False) or None not in (model, name)
    return found


def _fits(row: Settings, groups: Mapping[str, bool] | None, request: Request) -> bool | None:
    """Return whether an access row is for a request."""
    model, level = row.get("security_model"), row.get("level")
    return all_of(
        _is_for_member(row.get("group"), groups),
        None if model is None else model in ("any", request.security_model),
        None if level is None else _LEVELS[level] <= request.level,
        _fits_context(row, request.context),
    )


def _is_for_member(group: str | None, groups: Mapping[str, bool] | None) -> bool | None:
    if groups is not None and (not groups or (group is not None and group not in groups)):
        return False
    if groups is None or group is None or len(groups) > 1:
        return None
    return True if groups[group] else None


def _fits_context(row: Settings, context: str) -> bool | None:
    own, match = row.get("context"), row.get("match")
    if own is None or own == context:
        return None if own is None else True
    if not context.startswith(own):
        return False
    return None if match is None else match == "prefix"


def _rank(row: Settings, request: Request) -> tuple[bool, bool, int, int]:
    """Return what orders rows that fit: model, then context said exactly, then longer, then higher."""
    context: str = row["context"]
    exact_model = row["security_model"] == request.security_model
    return exact_model, context == request.context, len(context), _LEVELS[row["level"]]


def _allows(vacm: Settings, row: Settings | None, doing: Doing, subtrees: Subtrees) -> bool | None:
    return False if row is None else _holds(vacm, row.get(doing), subtrees)


def _consensus(one: bool | None, other: bool | None) -> bool | None:  # noqa: FBT001 - truths are the data
    """Return what both say, or the one that says something; a contradiction says nothing."""
    if one is None or other is None:
        return other if one is None else one
    return one if one is other else None


def _agreed(verdicts: Iterable[bool | None]) -> bool | None:
    found = set(verdicts)
    return found.pop() if len(found) == 1 else None
