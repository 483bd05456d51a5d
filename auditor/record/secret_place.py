"""Where a record holds secrets, and of what kind each is; finds them, and wraps those in clear.

The places come from the schema, so a secret that is added there is found here. Judges no secret.
"""

from collections.abc import Callable, Iterator, Mapping
from functools import cache
from typing import Any, Final, NamedTuple, TypeAlias

from auditor.dataclass import dataclass
from auditor.record.clear import Clear
from auditor.record.outline import ANY
from auditor.record.schema import card_schema
from auditor.record.settings import Settings

PLAIN_CRYPT: Final = "$0$"
"""Crypt prefix of a secret in clear. Source: RFC 7317, module iana-crypt-hash."""

KINDS: Final[Mapping[str, tuple[str, ...]]] = {
    "password": ("/accounts/*/password", "/services/serial_console/password"),
    "community": ("/snmp/communities/*/community", "/snmp/receivers/*/community"),
    "snmp_passphrase": ("/snmp/users/*/auth_secret", "/snmp/users/*/priv_secret"),
    "radius_secret": ("/directory/radius/servers/*/shared_secret",),
    "agent_secret": ("/shutdown/agents/*/secret",),
    "ldap_password": ("/directory/ldap/bind/password",),
    "mail_password": ("/mail/password",),
    "mqtt_password": ("/services/mqtt/password",),
    "wifi_passphrase": ("/services/wifi/passphrase",),
}
"""Kinds of secrets: those of one kind open the same sort of door, and are compared with each other.

A secret of the schema that stands in no kind is a kind of its own.
"""

Found: TypeAlias = tuple[str, dict[str, Any]]
"""A secret of a record, with its kind."""


@dataclass(frozen=True, slots=True)
class SecretPlace:
    """Where the schema has a secret: tokens, ``ANY`` for any member of a list, and its kind."""

    tokens: tuple[str, ...]
    kind: str


class Located(NamedTuple):
    """A secret at its place in one record: list indexes are numbers from 0."""

    tokens: tuple[str | int, ...]
    kind: str
    secret: dict[str, Any]


@cache
def secret_places() -> tuple[SecretPlace, ...]:
    """Return every place of the schema that holds a secret, in its order."""
    kinds = {place: kind for kind, places in KINDS.items() for place in places}
    secrets = _secrets_below(card_schema(), ())
    return tuple(SecretPlace(tokens, kinds.get(_named(tokens), _named(tokens))) for tokens in secrets)


def _secrets_below(node: Mapping[str, Any], tokens: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    """Yield the places of secrets; quicker than the outline of the schema, since every run asks."""
    if node.get("$ref") == "#/$defs/secret":
        yield tokens
        return
    followed = card_schema()["$defs"][node["$ref"].rpartition("/")[2]] if "$ref" in node else node
    for branch in followed.get("oneOf", (followed,)):
        for name, member in branch.get("properties", {}).items():
            yield from _secrets_below(member, (*tokens, name))
        if "items" in branch:
            yield from _secrets_below(branch["items"], (*tokens, ANY))


def secrets_of(settings: Settings) -> list[Found]:
    """Return the secrets of settings that fit the schema, with their kinds."""
    return _finder()(settings)


def located_secrets(settings: Settings) -> Iterator[Located]:
    """Yield the secrets of settings that fit the schema, each with its place."""
    for place in secret_places():
        for tokens, secret in _below(settings, place.tokens, ()):
            yield Located(tokens, place.kind, secret)


def is_clear(secret: Mapping[str, Any]) -> bool:
    """Tell whether a secret stands in clear, be it as a crypt text that says so."""
    crypt = secret.get("crypt")
    says_so = isinstance(crypt, str) and crypt.startswith(PLAIN_CRYPT) and crypt != PLAIN_CRYPT
    return says_so or ("clear" in secret and secret["clear"] != "")


def conceal(found: list[Found]) -> bool:
    """Wrap the clear secrets of a record that was read; tell whether there are any.

    A crypt text that says it is clear becomes what it is: a clear secret, or the empty one.
    """
    any_clear = False
    for _, secret in found:
        clear = secret.get("clear")
        if clear is not None:
            secret["clear"] = Clear(clear)
            any_clear = True
        elif "crypt" in secret and secret["crypt"].startswith(PLAIN_CRYPT):
            any_clear |= _conceal_crypt(secret)
    return any_clear


def _conceal_crypt(secret: dict[str, Any]) -> bool:
    text = secret.pop("crypt")[len(PLAIN_CRYPT) :]
    secret.update({"clear": Clear(text)} if text else {"empty": True})
    return bool(text)


def _named(tokens: tuple[str, ...]) -> str:
    return "/" + "/".join(tokens)


def _below(
    value: Any,  # noqa: ANN401 - any JSON value
    tokens: tuple[str, ...],
    at: tuple[str | int, ...],
) -> Iterator[tuple[tuple[str | int, ...], dict[str, Any]]]:
    if not tokens:
        yield at, value
    elif tokens[0] == ANY:
        for index, member in enumerate(value):
            yield from _below(member, tokens[1:], (*at, index))
    elif tokens[0] in value:
        yield from _below(value[tokens[0]], tokens[1:], (*at, tokens[0]))


@cache
def _finder() -> Callable[[Settings], list[Found]]:
    """Return the function that walks a record once, section by section, to its secrets.

    Written out as straight Python, since every record goes through it. The text holds names made
    here and names of the schema by ``repr``: nothing from a file becomes code.
    """
    lines = ["def find(n0):", "    out = []"]
    lines += _lines(_tree(), 0, "    ")
    names: dict[str, Any] = {}
    exec(compile("\n".join([*lines, "    return out"]), "<secrets>", "exec"), names)  # noqa: S102 - own text
    find: Callable[[Settings], list[Found]] = names["find"]
    return find


def _tree() -> dict[str, Any]:
    """Return the places as a tree: the kind where a secret stands, else what is below."""
    top: dict[str, Any] = {}
    for place in secret_places():
        node = top
        for token in place.tokens[:-1]:
            node = node.setdefault(token, {})
        node[place.tokens[-1]] = place.kind
    return top


def _lines(node: Mapping[str, Any], depth: int, indent: str) -> Iterator[str]:
    inner = f"n{depth + 1}"
    for token, below in node.items():
        if token == ANY:
            yield f"{indent}for {inner} in n{depth}:"
            yield from _lines(below, depth + 1, indent + "    ")
        elif isinstance(below, str):
            yield f"{indent}if {inner} := n{depth}.get({token!r}): out.append(({below!r}, {inner}))"
        else:
            yield f"{indent}if {inner} := n{depth}.get({token!r}):"
            yield from _lines(below, depth + 1, indent + "    ")
