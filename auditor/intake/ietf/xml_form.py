"""The XML form of an instance → the neutral tree: an rpc-reply, a config, or a bare data tree."""

from collections import Counter
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from auditor.dataclass import dataclass, field
from auditor.errors import Fault, InputError
from auditor.intake.ietf.data_tree import ENVELOPES, MODULES, MOST_VALUES, Node, Tree, child_name
from auditor.intake.imported import Origin
from auditor.intake.safe_xml import XmlLimits, parse_xml

if TYPE_CHECKING:
    from lxml import etree

_BASE = "urn:ietf:params:xml:ns:netconf:base:1.0"
_OPERATION = f"{{{_BASE}}}operation"
_ORIGIN = "{urn:ietf:params:xml:ns:yang:ietf-origin}origin"
_YANG = "urn:ietf:params:xml:ns:yang:"
_LIMITS = XmlLimits(nodes=2 * MOST_VALUES)


def read_xml(text: bytes, file: str) -> Tree:
    """Return the tree of an XML document.

    Raises:
        InputError: if it is no XML that may be used, or a reply that only tells of an error.
    """
    root = parse_xml(text, file, _LIMITS)
    reading = _Reading(file)
    local = _local(root)
    tops = reading.inside(root, f"/{local}") if local in ENVELOPES else (reading.node(root, "", f"/{local}"),)
    top = Node("", Origin(file, 0, ""), children=tuple(tops))
    return Tree(top, operational=reading.operational, removed=tuple(reading.removed))


@dataclass(slots=True)
class _Reading:
    """One pass over a document; collects what is no node of the tree."""

    file: str
    operational: bool = False
    removed: list[Origin] = field(default_factory=list)

    def inside(self, envelope: "etree._Element", at: str) -> Iterator[Node]:
        """Yield the top members inside an envelope, through envelopes inside it."""
        for child, place in _placed(envelope, at):
            if _local(child) == "rpc-error":
                self._refuse(child)
            if _local(child) in ENVELOPES:
                yield from self.inside(child, place)
            elif self._stays(child, place):
                yield self.node(child, "", place)

    def node(self, element: "etree._Element", parent_module: str, at: str) -> Node:
        """Return an element as a node, with all below it."""
        module, local = _qualified(element)
        self.operational = self.operational or _ORIGIN in element.attrib
        children = tuple(
            self.node(child, module, place)
            for child, place in _placed(element, at)
            if self._stays(child, place)
        )
        text = "" if len(element) else element.text or ""
        return Node(child_name(module, local, parent_module), self._origin(element, at), text, children)

    def _stays(self, element: "etree._Element", at: str) -> bool:
        if element.get(_OPERATION) not in ("delete", "remove"):
            return True
        self.removed.append(self._origin(element, at))
        return False

    def _origin(self, element: "etree._Element", at: str) -> Origin:
        return Origin(self.file, _line(element), at)

    def _refuse(self, element: "etree._Element") -> None:
        problem = "the reply tells of an error and not of settings"
        remedy = "Ask the card again, with an account that may read its settings."
        raise InputError([Fault(self.file, "", _line(element), 0, problem, remedy)])


def _placed(parent: "etree._Element", at: str) -> Iterator[tuple["etree._Element", str]]:
    """Yield the child elements, each with its path; siblings of one name are counted from 1."""
    names = [_local(child) for child in parent]
    several, seen = Counter(names), Counter[str]()
    for child, name in zip(parent, names, strict=True):
        seen[name] += 1
        yield child, f"{at}/{name}[{seen[name]}]" if several[name] > 1 else f"{at}/{name}"


def _line(element: "etree._Element") -> int:
    line: Any = element.sourceline
    return line or 0


def _local(element: "etree._Element") -> str:
    return str(element.tag).rpartition("}")[2]


def _qualified(element: "etree._Element") -> tuple[str, str]:
    namespace, _, local = str(element.tag).removeprefix("{").rpartition("}")
    return MODULES.get(namespace) or namespace.removeprefix(_YANG), local
