"""One neutral tree for the XML and the JSON form of an instance. Knows no module in particular.

Names are those of RFC 7951: ``module:name`` at the top and where the module changes from the
parent's, the plain name elsewhere.
"""

from collections.abc import Iterator, Mapping

from auditor.dataclass import dataclass, field
from auditor.intake.imported import Origin

MOST_VALUES = 100_000
"""Nodes of one instance; our own figure: the whole tree of a card has a few thousand."""


@dataclass(frozen=True, slots=True)
class Node:
    """A container, an entry of a list, a leaf, or an entry of a leaf-list.

    ``text`` is a leaf's value as XML writes it (``true``, ``162``), empty for what has
    children and for a leaf of type empty. It may be a secret, so it is not in the repr.
    """

    name: str
    origin: Origin
    text: str = field(default="", repr=False)
    children: tuple["Node", ...] = ()

    def every(self, path: str) -> tuple["Node", ...]:
        """Return all nodes at a path below this one, in order, through every entry of a list."""
        nodes: tuple[Node, ...] = (self,)
        for name in path.split("/"):
            nodes = tuple(child for node in nodes for child in node.children if child.name == name)
        return nodes

    def first(self, path: str) -> "Node | None":
        """Return the first node at a path below this one, if there is one."""
        return next(iter(self.every(path)), None)

    def word(self, path: str) -> str:
        """Return the value of the first leaf at a path without outer blanks; empty if there is none."""
        node = self.first(path)
        return node.text.strip() if node else ""


@dataclass(frozen=True, slots=True)
class Tree:
    """An instance: a nameless node above its top members, and what else the form told.

    ``operational`` is true if the instance comes from the operational state datastore, where
    a leaf that is absent has no default (RFC 8342 section 5.3). ``removed`` are nodes marked
    for removal by an edit (RFC 6241 section 7.2).
    """

    top: Node
    operational: bool = False
    removed: tuple[Origin, ...] = ()


def child_name(module: str, local: str, parent_module: str) -> str:
    """Return the name of a member below a parent of another or of the same module.

    Source: RFC 7951 section 4.
    """
    return local if module == parent_module or not module else f"{module}:{local}"


def unmapped_names(top: Node, mapped: frozenset[str]) -> Iterator[str]:
    """Yield the path, without keys of lists, of what no reader takes; of a subtree only its root.

    ``mapped`` are the paths of all leaves that readers take. A path may be yielded again.
    """
    known = _with_ancestors(mapped)
    open_ends = [("", child) for child in reversed(top.children)]
    while open_ends:
        parent, node = open_ends.pop()
        path = f"{parent}/{node.name}" if parent else node.name
        if path not in known:
            yield path
        else:
            open_ends += [(path, child) for child in reversed(node.children)]


def _with_ancestors(paths: frozenset[str]) -> frozenset[str]:
    steps = (path.split("/") for path in paths)
    return frozenset("/".join(names[:size]) for names in steps for size in range(1, len(names) + 1))


MODULES: Mapping[str, str] = {
    f"urn:ietf:params:xml:ns:yang:{module}": module
    for module in ("ietf-system", "ietf-snmp", "ietf-interfaces", "ietf-ip")
}
"""Namespace → module of what is read here. Source: RFC 7317, RFC 7407, RFC 8343, RFC 8344."""

ENVELOPES = frozenset({"rpc-reply", "data", "config", "instance-data-set", "content-data"})
"""What may stand around the top members.

Source: RFC 6241 sections 4.2, 7.1 and 7.2; RFC 8040 section 3.3; RFC 9195 section 2.
"""
