"""A folder or an archive of Redfish replies → its resources by their own names, wherever they lie.

Knows which types of resource tell of a card's settings, not what stands in them.
"""

import re
from collections.abc import Iterator, Mapping
from typing import Any

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError
from auditor.intake.archive import archive_kind, read_entries
from auditor.intake.archive_guard import ArchiveLimits, place, refuse
from auditor.intake.imported import Lost, Origin
from auditor.intake.json_text import read_json_text
from auditor.record.pointer import join

_MEBIBYTE = 1024 * 1024
LIMITS = ArchiveLimits(entry_bytes=2 * _MEBIBYTE, total_bytes=64 * _MEBIBYTE)
MOST_KEPT_BYTES = 8 * _MEBIBYTE
"""Bytes of the resources that tell of settings; a resource is a few kilobytes; our own figure."""
MOST_FAULTS = 1000
"""Faults of one capture that are listed; our own figure."""
_MOST_LOOKED_AT = 1000
"""Files that recognition opens before it gives up; our own figure."""

KINDS = frozenset({
    "AccountService", "Certificate", "CertificateCollection", "EthernetInterface",
    "EthernetInterfaceCollection", "EventDestination", "EventDestinationCollection", "EventService",
    "ExternalAccountProvider", "ExternalAccountProviderCollection", "LogService", "LogServiceCollection",
    "Manager", "ManagerAccount", "ManagerAccountCollection", "ManagerCollection", "ManagerNetworkProtocol",
    "Role", "RoleCollection", "SecurityPolicy", "SerialInterface", "SerialInterfaceCollection",
    "ServiceRoot", "SessionService",
})  # fmt: skip
"""Types of resource that tell of a card's settings (DSP0268), and the collections that list them."""

_TYPE = re.compile(r"#(?:[A-Za-z0-9_]+\.)+([A-Za-z0-9_]+)")
"""``#Namespace.v1_0_0.Type`` (DSP0266, the type property); only the last part is needed."""


@dataclass(frozen=True, slots=True)
class Resource:
    """One resource: its own name, its type without version, where it stands, what it says."""

    id: str
    kind: str
    file: str
    pointer: str
    body: Mapping[str, Any]

    @property
    def order(self) -> tuple[str | int, ...]:
        """Return what sorts resources as people would: by name, numbers by value."""
        parts = re.split(r"([0-9]+)", self.id.lower())
        return tuple(int(part) if part.isdecimal() else part for part in parts)


@dataclass(frozen=True, slots=True)
class Capture:
    """Every resource of a capture by its name, the texts they stand in, and what was told twice."""

    resources: Mapping[str, Resource]
    texts: Mapping[str, bytes]
    doubted: tuple[Lost, ...]

    def of_kind(self, kind: str) -> tuple[Resource, ...]:
        """Return the resources of one type, sorted by name."""
        found = (resource for resource in self.resources.values() if resource.kind == kind)
        return tuple(sorted(found, key=lambda resource: resource.order))

    def members(self, collection: str, kind: str) -> tuple[Resource, ...]:
        """Return the resources of a type that stand directly in a collection, sorted by name.

        They are found by their names, which begin with the collection's, so that they count
        even where the collection itself was not captured or does not list them.
        """
        return tuple(one for one in self.of_kind(kind) if one.id.rpartition("/")[0] == collection)

    def missing(self, collection: str) -> Iterator[Origin]:
        """Yield where a collection lists a member that the capture lacks."""
        listing = self.resources.get(collection)
        members = listing.body.get("Members") if listing else None
        for index, member in enumerate(members if isinstance(members, list) else ()):
            target = _target(member)
            if listing is not None and target and target not in self.resources:
                yield Origin(listing.file, 0, f"{listing.pointer}/Members/{index}")


def link_of(resource: Resource, *names: str) -> str:
    """Return the name of the resource that a member links to; empty if there is no link."""
    value: Any = resource.body
    for name in names:
        value = value.get(name) if isinstance(value, dict) else None
    return _target(value)


def _target(value: Any) -> str:  # noqa: ANN401 - any JSON value
    target = value.get("@odata.id") if isinstance(value, dict) else None
    return target.rstrip("/") if isinstance(target, str) else ""


def looks_like_redfish(path: str) -> bool:
    """Tell whether a path is a folder or archive in which a JSON text has a Redfish type.

    Damage is no Redfish: a real capture says what is wrong with it when it is read.
    """
    if archive_kind(path) is None:
        return False
    try:
        for count, (name, text) in enumerate(read_entries(path, _may_be_json, LIMITS)):
            if b'"@odata.type"' in text and _is_redfish(text, name):
                return True
            if count >= _MOST_LOOKED_AT:
                break
    except InputError:
        return False
    return False


def _is_redfish(text: bytes, name: str) -> bool:
    try:
        value = read_json_text(text, name)
    except InputError:
        return False
    return isinstance(value, dict) and bool(_kind(value))


def read_capture(path: str) -> Capture:
    """Read every resource that tells of settings.

    Raises:
        InputError: with every fault: a file that is not JSON, one resource in two files that
            differ, no resource at all; or with the first thing that is wrong with an archive.
    """
    gathered = _Gathered(path)
    for name, text in read_entries(path, _may_be_json, LIMITS):
        if _has_suffix(name) or text.removeprefix(b"\xef\xbb\xbf").lstrip()[:1] == b"{":
            gathered.add(name, text)
    return gathered.done()


def _may_be_json(name: str) -> bool:
    return _has_suffix(name) or "." not in name.rpartition("/")[2]


def _has_suffix(name: str) -> bool:
    return name.lower().endswith(".json")


def _kind(value: Mapping[str, Any]) -> str:
    found = _TYPE.fullmatch(str(value.get("@odata.type", "")))
    return found[1] if found else ""


class _Gathered:
    """What was found so far, in the order of the source, which must not matter."""

    def __init__(self, path: str) -> None:
        self._path = path
        self._found: list[Resource] = []
        self._texts: dict[str, bytes] = {}
        self._faults: list[Fault] = []
        self._kept = 0

    def add(self, name: str, text: bytes) -> None:
        """Read one file and keep it if it tells of settings."""
        file = place(self._path, name)
        try:
            found = list(_resources(read_json_text(text, file), file))
        except InputError as error:
            self._faults.extend(error.faults)
            if len(self._faults) > MOST_FAULTS:
                raise InputError(self._faults[:MOST_FAULTS]) from error
            return
        if found:
            self._found.extend(found)
            self._texts[file] = text
            self._kept += len(text)
        if self._kept > MOST_KEPT_BYTES:
            refuse(self._path, name, f"more than {MOST_KEPT_BYTES} bytes of settings", _ONE_CARD)

    def done(self) -> Capture:
        """Sort out what was told twice.

        A resource of its own file counts more than a copy inside another reply.
        """
        resources: dict[str, Resource] = {}
        doubted: list[Lost] = []
        for one in sorted(self._found, key=lambda one: (one.pointer != "", one.file, one.pointer)):
            first = resources.setdefault(one.id, one)
            if first is one or first.body == one.body or (first.pointer == "" and one.pointer != ""):
                continue
            if one.pointer == "":
                self._faults.append(_told_twice(first, one))
            else:
                why = f"told twice, not alike; kept as told in {first.file}"
                doubted.append(Lost(Origin(one.file, 0, one.pointer), why))
        if not resources and not self._faults:
            refuse(self._path, "", "no Redfish resource that tells of a card's settings", _CAPTURE)
        if self._faults:
            raise InputError(sorted(self._faults, key=lambda fault: (fault.file, fault.line, fault.column)))
        return Capture(resources, self._texts, tuple(doubted))


_ONE_CARD = "Give one card's capture."
_CAPTURE = "Save the service's replies, one resource a .json file, with their @odata.id and @odata.type."


def _told_twice(first: Resource, again: Resource) -> Fault:
    problem = f"{again.id} also stands in {first.file}, and the two are not alike"
    return Fault(again.file, "", 1, 1, problem, "Keep the newer of the two.")


def _resources(value: Any, file: str) -> Iterator[Resource]:  # noqa: ANN401 - any JSON value
    """Yield the resources that tell of settings: the text itself, and those expanded inside it.

    Source: DSP0266 (the $expand query parameter puts resources in the place of links).
    """
    waiting: list[tuple[tuple[str | int, ...], Any]] = [((), value)]
    while waiting:
        path, node = waiting.pop()
        if isinstance(node, dict):
            target = _target(node)
            if target and "#" not in target and (kind := _kind(node)) in KINDS:
                yield Resource(target, kind, file, join(path), node)
            waiting.extend(((*path, name), inner) for name, inner in node.items() if _holds(inner))
        elif isinstance(node, list):
            waiting.extend(((*path, index), inner) for index, inner in enumerate(node) if _holds(inner))


def _holds(value: Any) -> bool:  # noqa: ANN401 - any JSON value
    return isinstance(value, (dict, list)) and bool(value)
