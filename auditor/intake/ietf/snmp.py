"""ietf-snmp (RFC 7407): the engine and its users; targets, communities and views have their own files."""

from auditor.intake.ietf import communities, targets, vacm
from auditor.intake.ietf.data_tree import Node
from auditor.intake.ietf.taker import Taker
from auditor.intake.ietf.vacm import Request, Vacm
from auditor.intake.ietf.values import localized_of, number_of, truth_of

_SNMP = "ietf-snmp:snmp"
_LOCAL, _REMOTE = f"{_SNMP}/usm/local/user", f"{_SNMP}/usm/remote/user"
_USER_LEAVES = ("name", "auth/md5/key", "auth/sha/key", "priv/des/key", "priv/aes/key")

MAPPED = (
    frozenset(
        f"{_SNMP}/engine/{path}"
        for path in (
            "enabled",
            "listen/name",
            "listen/udp/port",
            "version/v1",
            "version/v2c",
            "version/v3",
            "engine-id",
            "enable-authen-traps",
        )
    )
    | {f"{list_}/{leaf}" for list_ in (_LOCAL, _REMOTE) for leaf in _USER_LEAVES}
    | {f"{_SNMP}/usm/remote/engine-id"}
    | vacm.MAPPED
    | targets.MAPPED
    | communities.MAPPED
)
"""Paths of the leaves taken here and in the files beside."""

_AUTH = {"md5": "md5", "sha": "sha1"}
_PRIV = {"des": "des", "aes": "aes128"}
"""The model's words → the record's. Source: module ietf-snmp-usm (RFC 3414, RFC 3826)."""


def take_snmp(top: Node, taker: Taker) -> None:
    """Take all that ietf-snmp tells and a record has a place for."""
    versions = _take_engine(top, taker)
    rows = Vacm(top)
    communities.take_communities(top, taker, rows, versions=versions)
    _take_users(top, taker, rows, versions=versions)
    vacm.take_vacm(top, taker)
    targets.take_receivers(top, taker, communities.strings_by_security_name(top))


def _take_engine(top: Node, taker: Taker) -> frozenset[str] | None:
    """Take the engine, and return the versions that it answers, or None if they are not told."""
    engine = f"{_SNMP}/engine"
    taker.take("/snmp/enabled", top.every(f"{engine}/enabled"), truth_of)
    taker.take("/snmp/engine_id", top.every(f"{engine}/engine-id"))
    alerts = top.every(f"{engine}/enable-authen-traps")
    taker.take("/snmp/authentication_failure_notifications", alerts, truth_of)
    for endpoint in top.every(f"{engine}/listen"):
        for udp in endpoint.every("udp"):
            # RFC 7407: without a port, an engine that answers listens at 161.
            taker.take_or("/snmp/port", udp.every("port"), number_of, default=161, parent=endpoint)
    told = top.first(f"{engine}/version")
    if told is None:
        return None
    versions = [child.name for child in told.children if child.name in ("v1", "v2c", "v3")]
    taker.draft.put("/snmp/versions", sorted(set(versions)), told.origin)
    return frozenset(versions)


def _take_users(top: Node, taker: Taker, rows: Vacm, *, versions: frozenset[str] | None) -> None:
    """Take the local users, then those of remote engines.

    A remote user is what notifications are sent as, and is never answered: a request must name
    the card's own engine (RFC 3414 section 3.2).
    """
    local = {user.word("name") for user in top.every(_LOCAL)}
    for user in top.every(_LOCAL):
        at = _take_user(user, taker)
        if at and versions is not None:
            taker.draft.put(f"{at}/enabled", "v3" in versions, user.origin)
        if at:
            _take_rights(user, at, taker, rows=rows)
    for user in top.every(_REMOTE):
        if user.word("name") in local:
            taker.draft.lose(user.origin, "a record holds one user of a name; another is kept")
            continue
        local.add(user.word("name"))
        at = _take_user(user, taker)
        if at:
            taker.draft.put(f"{at}/enabled", False, user.origin)  # noqa: FBT003 - a setting


def _take_user(user: Node, taker: Taker) -> str:
    """Take name, protocols and keys, and return the place of the user, empty if it has none.

    ``auth`` and ``priv`` have presence: without them, the user has no such protocol.
    """
    at = taker.draft.next_item("/snmp/users")
    if not taker.take(f"{at}/name", user.every("name")):
        return ""
    for kind, words in (("auth", _AUTH), ("priv", _PRIV)):
        if not user.every(kind):
            taker.draft.put(f"{at}/{kind}_protocol", "none", user.origin)
        for protocol, word in words.items():
            for node in user.every(f"{kind}/{protocol}"):
                taker.draft.put(f"{at}/{kind}_protocol", word, node.origin)
                taker.take(f"{at}/{kind}_secret", node.every("key"), localized_of)
    return at


def _take_rights(user: Node, at: str, taker: Taker, *, rows: Vacm) -> None:
    """Take what the user may do, and the lowest level at which it may: those of the views decide."""
    highest = 1 + bool(user.every("auth")) + bool(user.every("priv"))
    levels = tuple(range(1, highest + 1))
    rights = rows.rights(Request(("usm",), user.word("name"), levels, None))
    if rights is not None:
        origin = rights.origin or user.origin
        taker.draft.put(f"{at}/access", rights.access, origin)
        for member, value in (("view", rights.view), ("level", rights.level)):
            if value:
                taker.draft.put(f"{at}/{member}", value, origin)
    elif highest == 1:
        taker.draft.put(f"{at}/level", "noAuthNoPriv", user.origin)
