"""Communities of ietf-snmp (RFC 7407): strings, sources and rights."""

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from auditor.intake.ietf.data_tree import Node
from auditor.intake.ietf.taker import Taker
from auditor.intake.ietf.vacm import Request, Vacm
from auditor.intake.ietf.values import UnfitError, base64_text_of, prefix_of
from auditor.intake.imported import Origin

_SNMP = "ietf-snmp:snmp"

MAPPED = frozenset(
    f"{_SNMP}/community/{leaf}"
    for leaf in ("index", "text-name", "binary-name", "security-name", "context", "target-tag")
)
"""Paths of the leaves taken here."""

_NO_AUTH = (1,)
"""The one level at which a community reaches: the lowest. Source: RFC 3584 section 5.3."""


class Told(NamedTuple):
    """A community string and where it stands. Never print it."""

    text: str
    origin: Origin


def strings_by_security_name(top: Node) -> Mapping[str, Sequence[Told]]:
    """Return the community strings of an instance by the security names they are mapped to."""
    found: dict[str, list[Told]] = {}
    for entry in top.every(f"{_SNMP}/community"):
        found.setdefault(entry.word("security-name"), []).extend(_strings(entry))
    return found


def _strings(entry: Node) -> Iterator[Told]:
    for node, text in _readable(entry):
        if text is not None:
            yield Told(text, node.origin)


def _readable(entry: Node) -> Iterator[tuple[Node, str | None]]:
    """Yield the nodes that tell the community string, with the string where it can be read.

    Without a name, the security name is the community (RFC 7407, choice name).
    """
    for node in entry.every("text-name"):
        yield node, node.text
    for node in entry.every("binary-name"):
        try:
            yield node, base64_text_of(node.text)
        except UnfitError:
            yield node, None
    if not entry.every("text-name") and not entry.every("binary-name"):
        for node in entry.every("security-name"):
            yield node, node.text


def take_communities(top: Node, taker: Taker, vacm: Vacm, *, versions: frozenset[str] | None) -> None:
    """Take every community; ``versions`` are those that the engine answers, None if not told."""
    models = tuple(sorted({"v1", "v2c"} & versions)) if versions is not None else ("v1", "v2c")
    sources = _sources_by_tag(top)
    for entry in top.every(f"{_SNMP}/community"):
        at = taker.draft.next_item("/snmp/communities")
        if not taker.take(f"{at}/name", entry.every("index")):
            continue
        if versions is not None:
            taker.draft.put(f"{at}/enabled", bool(models), entry.origin)
        _take_string(entry, at, taker)
        taker.take(f"{at}/security_name", entry.every("security-name"))
        _take_sources(entry, at, taker, by_tag=sources)
        _take_rights(entry, at, taker, vacm=vacm, models=models)


def _take_string(entry: Node, at: str, taker: Taker) -> None:
    for node, text in _readable(entry):
        if text is None:
            taker.draft.lose(node.origin, "a binary value that is no text in UTF-8")
        else:
            taker.draft.put_secret(f"{at}/community", text, node.origin)


def _sources_by_tag(top: Node) -> Mapping[str, Sequence[Node]] | None:
    """Return the UDP addresses of the targets by tag, or None if no target is told.

    A community travels over UDP only.
    """
    found: dict[str, list[Node]] = {}
    targets = top.every(f"{_SNMP}/target")
    for target in targets:
        for tag in target.every("tag"):
            found.setdefault(tag.text.strip(), []).extend(target.every("udp"))
    return found if targets else None


def _take_sources(entry: Node, at: str, taker: Taker, *, by_tag: Mapping[str, Sequence[Node]] | None) -> None:
    """Take from where a community may be used: from anywhere without a tag (RFC 3584 section 5.3)."""
    tag = entry.first("target-tag")
    if tag is None or not tag.text.strip():
        taker.draft.put(f"{at}/allowed_sources", {"any": True}, (tag or entry).origin)
    elif by_tag is None:
        taker.draft.lose(tag.origin, "the targets that the tag selects are not told")
    else:
        _take_prefixes(tag, by_tag.get(tag.text.strip(), ()), at, taker=taker)


def _take_prefixes(tag: Node, addresses: Sequence[Node], at: str, *, taker: Taker) -> None:
    """Take the prefixes of the tagged targets; none is nobody (RFC 3584 section 5.3)."""
    try:
        prefixes = [prefix_of(udp.word("ip"), udp.word("prefix-length")) for udp in addresses]
    except UnfitError as error:
        taker.draft.lose(tag.origin, f"a target that the tag selects: {error}")
    else:
        taker.draft.put(f"{at}/allowed_sources", {"prefixes": prefixes}, tag.origin)


def _take_rights(entry: Node, at: str, taker: Taker, *, vacm: Vacm, models: tuple[str, ...]) -> None:
    name, context = entry.word("security-name"), entry.word("context")
    rights = vacm.rights(Request(models, name, _NO_AUTH, context)) if name else None
    if rights is not None:
        origin = rights.origin or entry.origin
        taker.draft.put(f"{at}/access", rights.access, origin)
        if rights.view:
            taker.draft.put(f"{at}/view", rights.view, origin)
