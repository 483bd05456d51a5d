"""Targets and notifications of ietf-snmp (RFC 7407): receivers, and the sources that tags allow."""

from collections.abc import Iterable, Iterator, Mapping, Sequence

from auditor.intake.ietf.communities import Told
from auditor.intake.ietf.data_tree import Node
from auditor.intake.ietf.taker import Taker
from auditor.intake.ietf.vacm import LEVELS
from auditor.intake.ietf.values import number_of

_SNMP = "ietf-snmp:snmp"

MAPPED = frozenset(
    f"{_SNMP}/{path}"
    for path in (
        "target/name",
        "target/udp/ip",
        "target/udp/port",
        "target/udp/prefix-length",
        "target/tls/ip",
        "target/tls/port",
        "target/dtls/ip",
        "target/dtls/port",
        "target/ssh/ip",
        "target/ssh/port",
        "target/tag",
        "target/target-params",
        "target-params/name",
        "target-params/v1/security-name",
        "target-params/v2c/security-name",
        "target-params/usm/user-name",
        "target-params/usm/security-level",
        "target-params/tsm/security-name",
        "target-params/tsm/security-level",
        "notify/name",
        "notify/tag",
        "notify/type",
    )
)
"""Paths of the leaves taken here."""

_PORTS = {"udp": 162, "tls": 10161, "dtls": 10161, "ssh": 5161}
"""Defaults of ``port`` by transport. Source: ietf-snmp-target, -tls and -ssh of RFC 7407."""

_VERSIONS = {"v1": "v1", "v2c": "v2c", "usm": "v3", "tsm": "v3"}


def take_receivers(top: Node, taker: Taker, communities: Mapping[str, Sequence[Told]]) -> None:
    """Take each target that a notification selects by its tag, once for traps and once for informs.

    ``communities`` are the community strings by security name.
    """
    params = {node.word("name"): node for node in top.every(f"{_SNMP}/target-params")}
    targets: dict[str, list[Node]] = {}
    for target in top.every(f"{_SNMP}/target"):
        for tag in target.every("tag"):
            targets.setdefault(tag.text.strip(), []).append(target)
    for notify, target in _selected(top.every(f"{_SNMP}/notify"), targets):
        at = _take_receiver(target, notify, taker)
        _take_params(params.get(target.word("target-params")), at, taker, communities=communities)


def _selected(notifies: Iterable[Node], targets: Mapping[str, list[Node]]) -> Iterator[tuple[Node, Node]]:
    """Yield each target with a notification that selects it, once a kind; no tag is looked at twice."""
    first: dict[tuple[str, bool], Node] = {}
    for notify in notifies:
        first.setdefault((notify.word("tag"), notify.word("type") == "inform"), notify)
    paired: set[tuple[int, bool]] = set()
    for (tag, informs), notify in first.items():
        for target in targets.get(tag, []):
            if (id(target), informs) not in paired:
                paired.add((id(target), informs))
                yield notify, target


def _take_receiver(target: Node, notify: Node, taker: Taker) -> str:
    at = taker.draft.next_item("/snmp/receivers")
    if not taker.take(f"{at}/name", target.every("name")):
        return ""
    taker.draft.put(f"{at}/enabled", True, notify.origin)  # noqa: FBT003 - a setting
    for name, port in _PORTS.items():
        for transport in target.every(name):
            taker.take(f"{at}/host", transport.every("ip"))
            taker.take_or(f"{at}/port", transport.every("port"), number_of, default=port, parent=target)
    kinds = notify.every("type")
    taker.take_or(f"{at}/kind", kinds, str.strip, default="trap", parent=notify)
    return at


def _take_params(
    params: Node | None, at: str, taker: Taker, *, communities: Mapping[str, Sequence[Told]]
) -> None:
    """Take how notifications are sent: the parameters that the target names, if they are there."""
    if params is None or not at:
        return
    for model, version in _VERSIONS.items():
        for node in params.every(model):
            taker.draft.put(f"{at}/version", version, node.origin)
            if version == "v3":
                taker.take(f"{at}/user", node.every("user-name") or node.every("security-name"))
                taker.take_word(f"{at}/level", node.every("security-level"), LEVELS)
            else:
                _take_community(communities.get(node.word("security-name"), ()), at, taker)


def _take_community(told: Sequence[Told], at: str, taker: Taker) -> None:
    if len({one.text for one in told}) == 1:
        taker.draft.put_secret(f"{at}/community", told[0].text, told[0].origin)
    for one in told:
        if one.text != told[0].text:
            taker.draft.lose(one.origin, "several communities for one security name of a receiver")
