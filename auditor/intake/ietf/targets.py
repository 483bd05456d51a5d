"""Targets and notifications of ietf-snmp (RFC 7407): receivers, and the sources that tags allow."""

from auditor.intake.ietf.data_tree import Node
from auditor.intake.ietf.taker import Taker
from auditor.intake.ietf.vacm import LEVELS
from auditor.intake.ietf.values import UnfitError, number_of, prefix_of
from auditor.intake.imported import Origin

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


def take_receivers(top: Node, taker: Taker, communities: dict[str, tuple[Node, ...]]) -> None:
    """Take each target that a notification selects by its tag, once for traps and once for informs.

    ``communities`` are, by security name, the nodes that hold the community strings.
    """
    params = {node.word("name"): node for node in top.every(f"{_SNMP}/target-params")}
    targets: dict[str, list[Node]] = {}
    for target in top.every(f"{_SNMP}/target"):
        for tag in target.every("tag"):
            targets.setdefault(tag.text.strip(), []).append(target)
    seen: set[tuple[str, str]] = set()
    for notify in top.every(f"{_SNMP}/notify"):
        for target in targets.get(notify.word("tag"), []):
            key = target.word("name"), notify.word("type") or "trap"
            if key not in seen:
                seen.add(key)
                at = _take_receiver(target, notify, taker)
                _take_params(params.get(target.word("target-params")), at, taker, communities)


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
    params: Node | None, at: str, taker: Taker, communities: dict[str, tuple[Node, ...]]
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


def _take_community(nodes: tuple[Node, ...], at: str, taker: Taker) -> None:
    ...


def sources_by_tag(top: Node) -> None:
    ...
