"""A capture of a Redfish service (DMTF DSP0266) → what it tells of each of its managers.

Reads a folder or an archive; opens no connection. A manager is a card. Where several have a
network protocol of their own, each is a card; where none has, each manager is. What belongs to
the service (accounts, directory, sessions, events) is told of every card: who logs in to the
service can change each manager that the service tells of.
"""

import re
from collections.abc import Iterator, Mapping

from auditor.dataclass import replace
from auditor.intake.draft import Draft
from auditor.intake.folder import shown
from auditor.intake.imported import Imported, Lost, Origin, id_from_name
from auditor.intake.redfish_accounts import (
    read_account_service,
    read_accounts,
    read_rest_api,
    read_session_service,
)
from auditor.intake.redfish_capture import Capture, Resource, link_of, looks_like_redfish, read_capture
from auditor.intake.redfish_certificates import read_certificate, read_tls_policy, verifies_servers
from auditor.intake.redfish_directory import read_directory
from auditor.intake.redfish_events import read_events
from auditor.intake.redfish_manager import read_log, read_manager, read_serial_console
from auditor.intake.redfish_network import read_interfaces, read_network_protocol
from auditor.intake.redfish_resource import Reader
from auditor.intake.redfish_snmp import read_snmp_agent, read_snmp_users
from auditor.record.position import positions

__all__ = ["looks_like_redfish", "read_redfish"]

MOST_LOST = 10_000
"""Losses of one card that are told; our own figure."""
MOST_LINES = 2000
"""Places in one file whose lines are looked up, each from the file's start; our own figure."""

_MANAGER = re.compile(r"(/.+/Managers/[^/]+)(?:/.*)?")


def read_redfish(path: str) -> tuple[Imported, ...]:
    """Return what a capture tells of each manager, sorted by the managers' names.

    Raises:
        InputError: with every fault of the capture.
    """
    capture = read_capture(path)
    cards = [_Card(capture, path, manager).read() for manager in _managers(capture)]
    return tuple(_with_lines(card, capture.texts) for card in _told_apart(cards))


def _managers(capture: Capture) -> list[str]:
    """Return the names of the managers that are cards; one empty name if the capture has none."""
    protocols = [one.id.rpartition("/")[0] for one in capture.of_kind("ManagerNetworkProtocol")]
    managers = [one.id for one in capture.of_kind("Manager")]
    traces = (_MANAGER.fullmatch(name) for name in sorted(capture.resources))
    return protocols or managers or list(dict.fromkeys(found[1] for found in traces if found)) or [""]


def _told_apart(cards: list[tuple[str, Imported]]) -> Iterator[Imported]:
    """Yield the cards; those that share an id get the manager's own name behind it."""
    ids = [card.card_id for _, card in cards]
    for manager, card in cards:
        if ids.count(card.card_id) == 1:
            yield card
        else:
            yield replace(card, card_id=_as_id(f"{card.card_id}:{manager.rpartition('/')[2]}"))


def _as_id(text: str) -> str:
    """Return a text as the id of a card: only the characters that one may have."""
    return re.sub(r"[^A-Za-z0-9._:@-]", "-", text).lstrip("._:@-")[:128] or "card"


class _BoundedDraft(Draft):
    """A draft that tells no endless number of losses."""

    def __init__(self, file: str, method: str) -> None:
        super().__init__(file, method)
        self._losses = 0

    def lose(self, origin: Origin, why: str) -> None:
        self._losses += 1
        if self._losses <= MOST_LOST:
            super().lose(origin, why)
        elif self._losses == MOST_LOST + 1:
            super().lose(origin, f"more than {MOST_LOST} losses: the rest is not told")


class _Card:
    """One manager of a capture, and the draft of its card."""

    def __init__(self, capture: Capture, path: str, manager: str) -> None:
        self._capture, self._path, self._manager = capture, path, manager
        self._draft = _BoundedDraft(shown(path), "redfish")
        self._readers: dict[str, Reader] = {}

    def read(self) -> tuple[str, Imported]:
        """Take all there is."""
        protocols = self._one(self._capture.resources.get(f"{self._manager}/NetworkProtocol"))
        policy = self._one(self._capture.resources.get(f"{self._manager}/SecurityPolicy"))
        self._read_manager(protocols)
        if policy is not None:
            read_tls_policy(policy)
        self._read_service(protocols, verifies=verifies_servers(policy))
        for reader in self._readers.values():
            reader.tell_unmapped()
        for lost in self._capture.doubted:
            self._draft.lose(lost.origin, lost.why)
        return self._manager, self._draft.done(self._card_id(protocols))

    def _card_id(self, protocols: Reader | None) -> str:
        name = protocols.text("/HostName") if protocols else None
        return _as_id(name or id_from_name(self._path))

    def _read_manager(self, protocols: Reader | None) -> None:
        manager = self._one(self._capture.resources.get(self._manager))
        if manager is not None:
            read_manager(manager)
        if protocols is not None:
            read_network_protocol(protocols)
            read_snmp_agent(protocols)
            certificates = link_of(protocols.resource, "HTTPS", "Certificates")
            read_certificate(self._all(certificates, "Certificate"))
        read_interfaces(self._all(f"{self._manager}/EthernetInterfaces", "EthernetInterface"))
        read_serial_console(self._all(f"{self._manager}/SerialInterfaces", "SerialInterface"))
        read_log(self._all(f"{self._manager}/LogServices", "LogService"))

    def _read_service(self, protocols: Reader | None, *, verifies: bool | None) -> None:
        root, service = self._sole("ServiceRoot"), self._sole("AccountService")
        events, sessions = self._sole("EventService"), self._sole("SessionService")
        accounts = self._all(_collection(service, "AccountService", "Accounts"), "ManagerAccount")
        roles = self._roles(service)
        if service is not None:
            read_account_service(service)
        read_accounts(accounts, roles)
        read_snmp_users(accounts, protocols)
        name = _collection(service, "AccountService", "AdditionalExternalAccountProviders")
        read_directory(service, self._all(name, "ExternalAccountProvider"), roles, verifies=verifies)
        if sessions is not None:
            read_session_service(sessions)
        if root is not None:
            read_rest_api(root, service, protocols)
        name = _collection(events, "EventService", "Subscriptions")
        read_events(events, self._all(name, "EventDestination"), verifies=verifies)

    def _roles(self, service: Reader | None) -> Mapping[str, Reader]:
        """Return the roles by name; what a role may do is no setting of its own."""
        found = self._capture.members(_collection(service, "AccountService", "Roles"), "Role")
        return {one.id.rpartition("/")[2]: Reader(self._draft, one) for one in found}

    def _one(self, resource: Resource | None) -> Reader | None:
        if resource is None:
            return None
        return self._readers.setdefault(resource.id, Reader(self._draft, resource))

    def _all(self, collection: str, kind: str) -> list[Reader]:
        """Return readers of a collection's members; a member that was not captured is lost."""
        for origin in self._capture.missing(collection):
            self._draft.lose(origin, "listed, but not in the capture")
        found = (self._one(one) for one in self._capture.members(collection, kind))
        return [reader for reader in found if reader is not None]

    def _sole(self, kind: str) -> Reader | None:
        """Return the reader of a resource that a service has once: the one by the plain name, if several."""
        found = self._capture.of_kind(kind)
        return self._one(min(found, key=lambda one: (len(one.id), one.order), default=None))


def _collection(service: Reader | None, kind: str, name: str) -> str:
    """Return the name of a service's collection: by its link, else by the standard's own path."""
    link = link_of(service.resource, name) if service else ""
    plain = "ExternalAccountProviders" if name.startswith("Additional") else name
    return link or f"{service.resource.id if service else f'/redfish/v1/{kind}'}/{plain}"


def _with_lines(card: Imported, texts: Mapping[str, bytes]) -> Imported:
    """Return a card with the line of every origin that stands somewhere; files full of places go without."""
    wanted: dict[str, set[str]] = {}
    for origin in [*card.origins.values(), *(lost.origin for lost in card.lost)]:
        wanted.setdefault(origin.file, set()).add(origin.at)
    lines = {
        (file, at): place.line
        for file, pointers in wanted.items()
        if file in texts and len(pointers) <= MOST_LINES
        for at, place in positions(texts[file], pointers).items()
    }

    def placed(origin: Origin) -> Origin:
        return replace(origin, line=lines.get((origin.file, origin.at), 0))

    return replace(
        card,
        origins={pointer: placed(origin) for pointer, origin in card.origins.items()},
        lost=tuple(Lost(placed(lost.origin), lost.why) for lost in card.lost),
    )
