"""ietf-system (RFC 7317): names, clock, time servers, resolver, RADIUS, local users."""

from auditor.intake.ietf.data_tree import Node
from auditor.intake.ietf.taker import Taker
from auditor.intake.ietf.values import crypt_of, identity_of, number_of

_SYSTEM = "ietf-system:system"
_STATE = "ietf-system:system-state"

MAPPED = frozenset(
    {
        f"{_STATE}/clock/current-datetime",
        *(
            f"{_SYSTEM}/{path}"
            for path in (
                "contact",
                "hostname",
                "location",
                "clock/timezone-name",
                "clock/timezone-utc-offset",
                "ntp/enabled",
                "ntp/server/name",
                "ntp/server/udp/address",
                "ntp/server/udp/port",
                "dns-resolver/server/name",
                "dns-resolver/server/udp-and-tcp/address",
                "radius/server/name",
                "radius/server/udp/address",
                "radius/server/udp/authentication-port",
                "radius/server/udp/shared-secret",
                "radius/server/authentication-type",
                "authentication/user-authentication-order",
                "authentication/user/name",
                "authentication/user/password",
            )
        ),
    }
)
"""Paths of the leaves taken here; the names of list entries are read, but a record has no place for all."""

_ORDER = f"{_SYSTEM}/authentication/user-authentication-order"
_METHODS = {"radius": "radius", "local-users": "local"}
_PROTOCOLS = {"radius-pap": "pap", "radius-chap": "chap"}


def take_system(top: Node, taker: Taker) -> None:
    """Take all that ietf-system tells and a record has a place for."""
    _take_names(top, taker)
    _take_clock(top, taker)
    for ntp in top.every(f"{_SYSTEM}/ntp"):
        _take_ntp(ntp, taker)
    for address in top.every(f"{_SYSTEM}/dns-resolver/server/udp-and-tcp/address"):
        taker.take(taker.draft.next_item("/network/dns_servers"), (address,))
    for server in top.every(f"{_SYSTEM}/radius/server"):
        _take_radius_server(server, taker)
    _take_order(top, taker)
    order = _order(top)
    for user in top.every(f"{_SYSTEM}/authentication/user"):
        _take_user(user, taker, order)


def _take_names(top: Node, taker: Taker) -> None:
    taker.take("/card/contact", top.every(f"{_SYSTEM}/contact"))
    taker.take("/card/location", top.every(f"{_SYSTEM}/location"))
    for node in top.every(f"{_SYSTEM}/hostname"):
        taker.take("/network/hostname", (node,), _host_label)
        if _domain(node.text):
            taker.take("/network/domain", (node,), _domain)


def _host_label(text: str) -> str:
    return text.strip().partition(".")[0]


def _domain(text: str) -> str:
    return text.strip().rstrip(".").partition(".")[2]


def _take_clock(top: Node, taker: Taker) -> None:
    taker.take("/time/timezone", top.every(f"{_SYSTEM}/clock/timezone-name"))
    for offset in top.every(f"{_SYSTEM}/clock/timezone-utc-offset"):
        taker.take("/time/utc_offset_min", (offset,), number_of)
        # RFC 7317: with an offset, there is no automatic daylight saving.
        taker.draft.put("/time/daylight_saving", False, offset.origin)  # noqa: FBT003 - a setting
    taker.take("/capture/card_clock", top.every(f"{_STATE}/clock/current-datetime"))


def _take_ntp(ntp: Node, taker: Taker) -> None:
    """Take the time servers; the container has presence, so its being there says a lot."""
    if ntp.word("enabled") == "true" or (taker.fills and not ntp.every("enabled")):
        taker.draft.put("/time/source", "ntp", (ntp.first("enabled") or ntp).origin)
    for enabled in ntp.every("enabled"):
        if enabled.text.strip() == "false":
            taker.draft.lose(enabled.origin, "NTP is off, and what else sets the clock is not told")
    for server in ntp.every("server"):
        at = taker.draft.next_item("/time/servers")
        if taker.take(f"{at}/host", server.every("udp/address")):
            port = server.every("udp/port")
            taker.take_or(f"{at}/port", port, number_of, default=123, parent=server)


def _take_radius_server(server: Node, taker: Taker) -> None:
    at = taker.draft.next_item("/directory/radius/servers")
    if taker.take(f"{at}/host", server.every("udp/address")):
        port = server.every("udp/authentication-port")
        taker.take_or(f"{at}/port", port, number_of, default=1812, parent=server)
        taker.draft.put(f"{at}/transport", "udp", server.every("udp")[0].origin)
        for secret in server.every("udp/shared-secret"):
            taker.draft.put_secret(f"{at}/shared_secret", secret.text, secret.origin)
    _take_protocol(server, taker)


def _take_protocol(server: Node, taker: Taker) -> None:
    """Take how the password travels: a record has one word for all servers, so more are lost."""
    types = server.every("authentication-type")
    if types:
        taker.take_word("/directory/radius/protocol", types, _PROTOCOLS)
    elif taker.fills:
        taker.draft.put("/directory/radius/protocol", "pap", server.origin)


def _take_order(top: Node, taker: Taker) -> None:
    """Take in which order accounts are looked up.

    The next method is used whenever one fails, a refusal included, so behind RADIUS local
    accounts always work; RADIUS alone shuts out local passwords, but not local SSH keys.

    Source: RFC 7317, leaf-list user-authentication-order.
    """
    steps, order = top.every(_ORDER), _order(top)
    for step, word in zip(steps, order, strict=True):
        if not word:
            taker.draft.lose(step.origin, "a record has words only for radius and local-users")
    if steps and all(order):
        taker.draft.put("/directory/order", order, steps[0].origin)
        taker.draft.put("/directory/radius/enabled", "radius" in order, steps[0].origin)
        _take_fallback(top, taker, order, step=steps[0])


def _order(top: Node) -> list[str]:
    """Return the methods in order, empty for one that a record has no word for."""
    return [_METHODS.get(identity_of(step.text), "") for step in top.every(_ORDER)]


def _take_fallback(top: Node, taker: Taker, order: list[str], *, step: Node) -> None:
    fallback = "/directory/local_fallback"
    if "radius" in order and "local" in order:
        taker.draft.put(f"{fallback}/when", "always", step.origin)
        taker.draft.put(f"{fallback}/accounts", "all", step.origin)
    elif "radius" in order and not top.every(f"{_SYSTEM}/authentication/user/authorized-key"):
        taker.draft.put(f"{fallback}/when", "never", step.origin)


def _take_user(user: Node, taker: Taker, order: list[str]) -> None:
    """Take a local user; whether it can log in hangs on the order of methods, where that is told."""
    at = taker.draft.next_item("/accounts")
    if not taker.take(f"{at}/name", user.every("name")):
        return
    taker.take(f"{at}/password", user.every("password"), crypt_of)
    if "local" in order and user.every("password"):
        taker.draft.put(f"{at}/enabled", True, user.origin)  # noqa: FBT003 - a setting
    elif order and all(order) and "local" not in order and not user.every("authorized-key"):
        taker.draft.put(f"{at}/enabled", False, user.origin)  # noqa: FBT003 - a setting
