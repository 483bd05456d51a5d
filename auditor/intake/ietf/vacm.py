"""View-based access control of ietf-snmp (RFC 7407): its rows, and who may do what by them."""

from collections.abc import Iterable, Iterator, Mapping
from itertools import product
from typing import NamedTuple

from auditor.dataclass import dataclass
from auditor.intake.ietf.data_tree import Node
from auditor.intake.ietf.taker import Taker
from auditor.intake.ietf.values import UnfitError, subtree_of, text_of
from auditor.intake.imported import Origin

_VACM = "ietf-snmp:snmp/vacm"

MAPPED = frozenset(
    f"{_VACM}/{path}"
    for path in (
        "group/name",
        "group/member/security-name",
        "group/member/security-model",
        "group/access/context",
        "group/access/context-match",
        "group/access/security-model",
        "group/access/security-level",
        "group/access/read-view",
        "group/access/write-view",
        "group/access/notify-view",
        "view/name",
        "view/include",
        "view/exclude",
    )
)
"""Paths of the leaves taken here."""

LEVELS: Mapping[str, str] = {
    "no-auth-no-priv": "noAuthNoPriv",
    "auth-no-priv": "authNoPriv",
    "auth-priv": "authPriv",
}
"""The model's words for security levels, lowest first → those of RFC 3411."""

MOST_ROWS = 256
"""Access rows of one group that are weighed; our own figure, to bound what a hostile source costs."""

_RANKS = {word: rank for rank, word in enumerate(LEVELS, start=1)}


@dataclass(frozen=True, slots=True)
class Request:
    """Who asks: models and name, the levels it can reach, and its context, None for any."""

    models: tuple[str, ...]
    security_name: str
    levels: tuple[int, ...]
    context: str | None


@dataclass(frozen=True, slots=True)
class Rights:
    """What a requester may do at most: a word of the record, the one view of it, the lowest level.

    ``view`` and ``level`` are empty where there is not exactly one, or none. ``origin`` is the
    row that decided, if one did.
    """

    access: str
    view: str = ""
    level: str = ""
    origin: Origin | None = None


@dataclass(frozen=True, slots=True)
class _Row:
    context: str
    is_prefix: bool
    model: str
    level: int
    read: str
    write: str
    origin: Origin


class _Asked(NamedTuple):
    model: str
    context: str
    level: int


class Vacm:
    """Groups and access rows, ready to be asked; views are not looked into."""

    def __init__(self, top: Node) -> None:
        """Read the groups of an instance."""
        self._groups: dict[tuple[str, str], str] = {}
        self._rows: dict[str, list[_Row]] = {}
        self._decided: dict[tuple[str, _Asked], _Row | None] = {}
        for group in top.every(f"{_VACM}/group"):
            name = group.word("name")
            self._groups.update((member, name) for member in _members(group))
            self._rows[name] = [_row(access) for access in group.every("access")]
        sizes = [len(rows) for rows in self._rows.values()]
        self._can_be_weighed = bool(sizes) and max(sizes) <= MOST_ROWS

    def rights(self, request: Request) -> Rights | None:
        """Return what a requester may do; None if no group is told, or one with too many rows."""
        if not self._can_be_weighed:
            return None
        chosen = tuple(self._chosen(request))
        access = (
            "write"
            if any(r.write for _, r in chosen)
            else "read"
            if any(r.read for _, r in chosen)
            else "none"
        )
        granting = [(level, row) for level, row in chosen if _view(row, access)]
        if not granting:
            return Rights(access)
        views = {_view(row, access) for _, row in granting}
        least = min(level for level, row in chosen if row.read or row.write)
        level = next(LEVELS[word] for word, rank in _RANKS.items() if rank == least)
        return Rights(access, views.pop() if len(views) == 1 else "", level, granting[0][1].origin)

    def _chosen(self, request: Request) -> Iterator[tuple[int, _Row]]:
        """Yield for each request that can be made the row that decides it, with the request's level."""
        for model in request.models:
            group = self._groups.get((model, request.security_name), "")
            contexts = {row.context for row in self._rows.get(group, ())}
            asked = sorted(contexts) if request.context is None else (request.context,)
            for context, level in product(asked, request.levels):
                row = self._deciding(group, _Asked(model, context, level))
                if row is not None:
                    yield level, row

    def _deciding(self, group: str, asked: _Asked) -> _Row | None:
        if (group, asked) not in self._decided:
            self._decided[group, asked] = _deciding(self._rows.get(group, ()), asked)
        return self._decided[group, asked]


def _members(group: Node) -> Iterator[tuple[str, str]]:
    """Yield each member of a group, as security model and security name."""
    for member in group.every("member"):
        for model in member.every("security-model"):
            yield model.text.strip(), member.word("security-name")


def _deciding(rows: Iterable[_Row], asked: _Asked) -> _Row | None:
    """Return the row that decides a request. Source: RFC 3415 section 4, vacmAccessTable."""
    fitting = [
        row
        for row in rows
        if row.model in (asked.model, "any")
        and row.level <= asked.level
        and (asked.context.startswith(row.context) if row.is_prefix else asked.context == row.context)
    ]
    return max(
        fitting,
        key=lambda row: (row.model == asked.model, row.context == asked.context, len(row.context), row.level),
        default=None,
    )


def _view(row: _Row, access: str) -> str:
    return {"write": row.write, "read": row.read}.get(access, "")


def _row(access: Node) -> _Row:
    return _Row(
        context=access.word("context"),
        is_prefix=access.word("context-match") == "prefix",
        model=access.word("security-model"),
        level=_RANKS.get(access.word("security-level"), len(_RANKS)),
        read=access.word("read-view"),
        write=access.word("write-view"),
        origin=access.origin,
    )


def take_vacm(top: Node, taker: Taker) -> None:
    """Take members of groups, access rows and views."""
    for group in top.every(f"{_VACM}/group"):
        for member in group.every("member"):
            for model in member.every("security-model"):
                _take_member(group, member, model=model, taker=taker)
        for access in group.every("access"):
            _take_access(group, access, taker)
    for view in top.every(f"{_VACM}/view"):
        for kind in ("include", "exclude"):
            for family in view.every(kind):
                _take_family(view, family, taker)


def _take_member(group: Node, member: Node, *, model: Node, taker: Taker) -> None:
    at = taker.draft.next_item("/snmp/vacm/groups")
    if taker.take(f"{at}/security_model", (model,)):
        taker.take(f"{at}/group", group.every("name"))
        taker.take(f"{at}/security_name", member.every("security-name"))


def _take_access(group: Node, access: Node, taker: Taker) -> None:
    at = taker.draft.next_item("/snmp/vacm/access")
    if not taker.take(f"{at}/group", group.every("name")):
        return
    taker.take(f"{at}/context", access.every("context"))
    match = access.every("context-match")
    taker.take_or(f"{at}/match", match, text_of, default="exact", parent=access)
    taker.take(f"{at}/security_model", access.every("security-model"))
    taker.take_word(f"{at}/level", access.every("security-level"), LEVELS)
    for kind in ("read", "write", "notify"):
        taker.take(f"{at}/{kind}_view", access.every(f"{kind}-view"))


def _take_family(view: Node, family: Node, taker: Taker) -> None:
    try:
        subtree, mask = subtree_of(family.text)
    except UnfitError as error:
        taker.draft.lose(family.origin, str(error))
        return
    at = taker.draft.next_item("/snmp/vacm/views")
    if taker.draft.put(f"{at}/subtree", subtree, family.origin):
        taker.take(f"{at}/name", view.every("name"))
        if mask:
            taker.draft.put(f"{at}/mask", mask, family.origin)
        taker.draft.put(f"{at}/type", f"{family.name}d", family.origin)
