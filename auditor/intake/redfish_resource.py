"""Reading one Redfish resource, property by property, into a draft. Knows no property by name.

A property that is null or absent is unknown (FACTS of DSP0266: absent is not implemented or not
exported). What nobody asked for is told at the end as unmapped, by name.
"""

from collections.abc import Iterator, Mapping
from typing import Any

from auditor.intake.draft import Draft
from auditor.intake.imported import Origin
from auditor.intake.redfish_capture import Resource

MOST_ITEMS = 1000
"""Items of one list; no manager has a thousand of anything; our own figure."""

_OF_NO_INTEREST = frozenset({
    "Id", "Name", "Description", "Status", "Actions", "Links", "Members",
    "AddressState", "AutoNeg", "ConnectorType", "FullDuplex", "LinkStatus", "Locked", "ManagerType",
    "MaxIPv6StaticAddresses", "MTUSize", "Model", "PermanentMACAddress", "PinOut", "PowerState",
    "ServiceEntryPointUUID", "SignalType", "SpeedMbps", "UUID",
})  # fmt: skip
"""Members that set nothing: what every resource has, what it is made of, and how it does now."""


class Reader:
    """One resource and the draft that its properties go to."""

    def __init__(self, draft: Draft, resource: Resource) -> None:
        """Begin with nothing asked for."""
        self.draft, self.resource = draft, resource
        self._asked: set[str] = set()

    def value(self, at: str) -> Any:  # noqa: ANN401 - any JSON value
        """Return the value at a pointer, None if it is null or absent."""
        self._asked.add(at)
        node: Any = self.resource.body
        for token in at.split("/")[1:]:
            if isinstance(node, list):
                node = node[int(token)] if token.isdecimal() and int(token) < len(node) else None
            else:
                node = node.get(token) if isinstance(node, dict) else None
        return node

    def has(self, at: str) -> bool:
        """Tell whether a member is there, even as null."""
        above, _, name = at.rpartition("/")
        node = self.value(above) if above else self.resource.body
        self._asked.discard(above)
        return isinstance(node, dict) and name in node

    def flag(self, at: str) -> bool | None:
        """Return a true or false; anything else is lost."""
        value = self.value(at)
        if value is None or isinstance(value, bool):
            return value
        self.lose(at, "expected true or false")
        return None

    def number(self, at: str) -> int | None:
        """Return a whole number; anything else is lost."""
        value = self.value(at)
        if value is None or (isinstance(value, int) and not isinstance(value, bool)):
            return value
        self.lose(at, "expected a whole number")
        return None

    def text(self, at: str) -> str | None:
        """Return a text, which may be empty; anything else is lost."""
        value = self.value(at)
        if value is None or isinstance(value, str):
            return value
        self.lose(at, "expected a text")
        return None

    def texts(self, at: str) -> list[tuple[str, str]] | None:
        """Return pointer and text of a list's items, None if there is no list; empty slots are left out."""
        if self._size(at) is None:
            return None
        found = ((where, self.text(where)) for where in self.items(at))
        return [(where, text) for where, text in found if text]

    def items(self, at: str) -> Iterator[str]:
        """Yield the pointer of every item of a list."""
        for index in range(self._size(at) or 0):
            yield f"{at}/{index}"

    def _size(self, at: str) -> int | None:
        value = self.value(at)
        if isinstance(value, list) and len(value) <= MOST_ITEMS:
            self._asked.discard(at)
            return len(value)
        if value is not None:
            self.lose(at, f"expected a list of at most {MOST_ITEMS} items")
        return None

    def word(self, at: str, meanings: Mapping[str, str]) -> str | None:
        """Return what a word of the standard means in a record; a word not in the list is lost."""
        value = self.text(at)
        if not value or value in meanings:
            return meanings[value] if value else None
        self.lose(at, "a word with no place in a record")
        return None

    def put(self, pointer: str, value: object, at: str) -> bool:
        """Put a setting that comes from a property; None is nothing to put."""
        self._asked.add(at)
        return value is not None and self.draft.put(pointer, value, self.origin(at))

    def copy(self, at: str, pointer: str) -> bool:
        """Put a property as it is; an empty text is nothing to put."""
        value = self.value(at)
        return self.put(pointer, None if value == "" else value, at)

    def lose(self, at: str, why: str) -> None:
        """Note a property that could not be converted; ``why`` must not hold its value."""
        self._asked.add(at)
        self.draft.lose(self.origin(at), why)

    def skip(self, at: str) -> None:
        """Leave a property, and all below it, out of what is told as unmapped."""
        self._asked.add(at)

    def origin(self, at: str) -> Origin:
        """Return where a property stands."""
        return Origin(self.resource.file, 0, self.resource.pointer + at)

    def tell_unmapped(self) -> None:
        """Tell the draft the names of all properties that nobody asked for."""
        above = {at[:end] for at in self._asked for end, letter in enumerate(at) if letter == "/"}
        for name in self._leftovers(self.resource.body, "", "", frozenset({"", *above})):
            self.draft.unmapped(f"{self.resource.kind}{name}")

    def _leftovers(self, node: Any, at: str, name: str, above: frozenset[str]) -> Iterator[str]:  # noqa: ANN401
        """Yield the names at and below a node; ``above`` are the pointers to more that was asked for."""
        if at in self._asked or _is_nothing(node):
            return
        if isinstance(node, dict) and at in above:
            for key, inner in node.items():
                if "@" not in key and key not in _OF_NO_INTEREST:
                    yield from self._leftovers(inner, f"{at}/{key}", f"{name}/{key}", above)
        elif isinstance(node, list) and at in above:
            for index, inner in enumerate(node):
                yield from self._leftovers(inner, f"{at}/{index}", name, above)
        else:
            yield name


def _is_nothing(value: Any) -> bool:  # noqa: ANN401 - any JSON value
    """Tell whether a value sets nothing: null, empty, or no more than links to other resources."""
    if isinstance(value, dict):
        return all("@" in key for key in value)
    return value is None or value in ("", [])
