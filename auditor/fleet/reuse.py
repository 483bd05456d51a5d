"""What one recovered secret opens: the cards of an estate that share a secret or a key.

Of a secret nothing is kept but a digest under a random key that lives as long as the run. Only
secrets of one kind are compared: a community that is also a password goes unseen here.
"""

import secrets
from array import array
from base64 import b64encode
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cache
from typing import Final, TypeAlias, TypeVar

from auditor.errors import RecordError
from auditor.facts.certificate import certificate_of
from auditor.fleet.seen import Seen
from auditor.record.reading import Record
from auditor.record.settings import Settings
from auditor.scoring.band import Band, band_of
from auditor.scoring.ccss import Scored, environmental_score
from auditor.scoring.environment import environment_of

SHOWN_CARDS: Final = 20
"""So many card ids of a group are kept; our own figure."""

WEIGHTY: Final = ("life_safety", "critical")
"""Loads that are named one by one: their loss harms people, or is a significant one."""

Item = TypeVar("Item", bound=Record | RecordError)
Value: TypeAlias = tuple[str, str]
"""The kind of something that cards may share, and the text by which it is known as the same."""

Further: TypeAlias = Callable[[Record], Iterable[Value]]
"""Gives more that a card may share, such as the passphrase that its localized keys were made of."""

_EMPTY: Settings = {}


@dataclass(frozen=True, slots=True)
class SharedKind:
    """What is shared, what one of it opens, and the severity of sharing it, with the argument for it."""

    title: str
    opens: str
    vector: str
    because: str


_BOTH: Final = "AV:N/AC:H/Au:N/C:P/I:P/A:P"
_SPEAK: Final = "AV:N/AC:H/Au:N/C:P/I:P/A:N"
_LISTEN: Final = "AV:N/AC:H/Au:N/C:P/I:N/A:N"

SHARED_KINDS: Final[Mapping[str, SharedKind]] = {
    "password": SharedKind(
        "Password of an account or console", "a login to each card",
        _BOTH, "Recovered on the weakest card, it opens all the others.",
    ),
    "community": SharedKind(
        "SNMP community", "reading of each card, and writing where the row allows it",
        _LISTEN, "Sent in clear by each card: heard once, it reads them all.",
    ),
    "snmp_passphrase": SharedKind(
        "SNMPv3 passphrase or key", "requests to each card as that user",
        _SPEAK, "Recovered on one card, it speaks to all the others.",
    ),
    "radius_secret": SharedKind(
        "RADIUS shared secret", "forged answers of the server to each card",
        _BOTH, "Recovered on one card, it lets a stranger answer the logins of all the others.",
    ),
    "agent_secret": SharedKind(
        "Secret of a shutdown agent", "shutdown commands to each machine behind these cards",
        "AV:N/AC:H/Au:N/C:N/I:P/A:P", "Recovered on one card, it stops the machines behind all the others.",
    ),
    "ldap_password": SharedKind(
        "Password of the LDAP bind", "the directory, as far as the bind may read",
        _LISTEN, "One bind for many cards is usual; it opens the directory, not the cards.",
    ),
    "mail_password": SharedKind(
        "Password for mail", "the mail account that these cards send by",
        _LISTEN, "One mail account for many cards is usual; it opens the account, not the cards.",
    ),
    "mqtt_password": SharedKind(
        "Password for the MQTT broker", "the broker, in the name of each card",
        _SPEAK, "Recovered on one card, it speaks in the name of all the others.",
    ),
    "wifi_passphrase": SharedKind(
        "Wi-Fi passphrase", "the wireless network that these cards are in",
        "AV:A/AC:H/Au:N/C:P/I:N/A:N", "A network has one passphrase by design; it opens the way to the cards.",
    ),
    "certificate": SharedKind(
        "TLS certificate", "the identity of each card towards browsers and programs",
        _SPEAK, "One private key on many cards: taken from one, it plays and reads all the others.",
    ),
    "certificate_key": SharedKind(
        "Key of the TLS certificate", "the identity of each card towards browsers and programs",
        _SPEAK, "One private key under several certificates: taken from one card, it plays all the others.",
    ),
    "ssh_host_key": SharedKind(
        "SSH host key", "the identity of each card towards SSH clients",
        _SPEAK, "One private key on many cards: taken from one, it plays all the others.",
    ),
}  # fmt: skip
"""Severities are base vectors argued as those of rules are; the arguments are our own, no source."""


@dataclass(frozen=True, slots=True)
class SharedSecret:
    """Cards that share one secret or key: a finding on the estate.

    ``form`` is how it was seen to be the same: ``clear``, ``tag``, ``crypt``, ``localized`` or
    ``fingerprint``. ``card_ids`` are the first ``SHOWN_CARDS`` in the order of the input, and
    ``weighty_ids`` the first of those that feed a load in ``WEIGHTY``. ``feeds`` counts the cards
    by what they feed, empty text where that is not known. ``severity`` is that at the worst load.
    """

    kind: str
    form: str
    cards: int
    feeds: Mapping[str, int]
    card_ids: tuple[str, ...]
    weighty_ids: tuple[str, ...]
    severity: Scored
    band: Band


@dataclass(slots=True)
class _Group:
    """A shared secret while cards come in; ``last`` is the number of the card that came last."""

    kind: str
    form: str
    last: int = 0
    cards: int = 0
    feeds: Counter[str] = field(default_factory=Counter)
    card_ids: list[str] = field(default_factory=list)
    weighty_ids: list[str] = field(default_factory=list)

    def add(self, number: int, card_id: str, feeds: str) -> None:
        if number == self.last:
            return
        self.last = number
        self.cards += 1
        self.feeds[feeds] += 1
        for ids, wanted in ((self.card_ids, True), (self.weighty_ids, feeds in WEIGHTY)):
            if wanted and len(ids) < SHOWN_CARDS:
                ids.append(card_id)


class Reuse:
    """Takes records one by one and gives what they share at the end."""

    def __init__(self, further: Further | None = None) -> None:
        """Begin with no card, and a random key of this run."""
        key = secrets.token_hex(16)
        self._salt = cache(lambda kind: f"{key} {kind} ")
        self._further = further
        self._seen = Seen()
        self._groups: dict[int, _Group] = {}
        self._cards = _Cards()

    def watch(self, records: Iterable[Item]) -> Iterator[Item]:
        """Pass records on, taking each; errors go through untouched."""
        for record in records:
            if isinstance(record, Record):
                self.add(record)
            yield record

    def add(self, record: Record) -> None:
        """Take one card."""
        number = self._cards.add(record.card_id, record.settings.get("equipment", _EMPTY).get("feeds", ""))
        salt, meet = self._salt, self._seen.meet
        for kind, secret in record.secrets:
            clear = secret.get("clear")
            text = clear.reveal() if clear is not None else _other_form(secret)
            if text:
                # Keyed by the salt, and by the interpreter's own random key (SipHash, PEP 456).
                digest = hash(salt(kind) + text)
                first = meet(digest, number)
                if first and first != number:
                    self._share(digest, first, number, kind, "clear" if clear is not None else _form(secret))
        for kind, text in self._keys(record):
            digest = hash(salt(kind) + text)
            first = meet(digest, number)
            if first and first != number:
                self._share(digest, first, number, kind, "fingerprint")

    def _keys(self, record: Record) -> Iterator[Value]:
        yield from _public_keys(record.settings)
        if self._further is not None:
            yield from self._further(record)

    def _share(self, digest: int, first: int, number: int, kind: str, form: str) -> None:
        group = self._groups.get(digest)
        if group is None:
            group = self._groups[digest] = _Group(kind, form)
            group.add(first, *self._cards.of(first))
        group.add(number, *self._cards.of(number))

    def shared(self, environments: Mapping[str, Mapping[str, str]] | None = None) -> tuple[SharedSecret, ...]:
        """Return what cards share: worst first, then most cards, then kind, then the first card's id.

        ``environments`` are those that a site tailored, by what a card feeds.
        """
        found = [_finished(group, environments or {}) for group in self._groups.values()]
        twice = {(one.cards, one.card_ids) for one in found if one.kind == "certificate"}
        kept = [
            one for one in found if one.kind != "certificate_key" or (one.cards, one.card_ids) not in twice
        ]
        return tuple(sorted(kept, key=_worst_first))


def _worst_first(one: SharedSecret) -> tuple[object, ...]:
    return (-one.severity.score, -one.cards, one.kind, one.card_ids, one.form)


def _finished(group: _Group, environments: Mapping[str, Mapping[str, str]]) -> SharedSecret:
    vector = SHARED_KINDS[group.kind].vector
    metrics = (environment_of(feeds or None, environments).metrics for feeds in group.feeds)
    severity = max((environmental_score(vector, each) for each in metrics), key=lambda scored: scored.score)
    return SharedSecret(
        group.kind, group.form, group.cards, dict(sorted(group.feeds.items())), tuple(group.card_ids),
        tuple(group.weighty_ids), severity, band_of(severity.score),
    )  # fmt: skip


def _form(secret: Settings) -> str:
    return "tag" if "sealed" in secret else next(iter(secret))


def _other_form(secret: Settings) -> str:
    """Return what makes a secret that is not in clear the same as another; empty if nothing does."""
    if "sealed" in secret:
        sealed = secret["sealed"]
        return f"tag {sealed.get('key', '')} {sealed['tag']}" if "tag" in sealed else ""
    if "crypt" in secret:
        return f"crypt {secret['crypt']}"
    return f"localized {secret['localized'].lower()}" if "localized" in secret else ""


def _public_keys(settings: Settings) -> Iterator[Value]:
    """Yield the fingerprints of a card's certificate, of its key, and of its SSH host keys."""
    if "certificate" in settings.get("tls", _EMPTY):
        certificate = certificate_of(settings)
        if "fingerprint_sha256" in certificate:
            yield "certificate", _octets(certificate["fingerprint_sha256"])
        if "public_key_sha256" in certificate:
            yield "certificate_key", certificate["public_key_sha256"]
    for key in settings.get("ssh", _EMPTY).get("host_keys", ()):
        if "fingerprint_sha256" in key:
            yield "ssh_host_key", _octets(key["fingerprint_sha256"])


def _octets(fingerprint: str) -> str:
    """Return a SHA-256 fingerprint in one form, be it written in hexadecimal digits or in base64."""
    digits = fingerprint.replace(":", "")
    if len(digits) == _SHA256_DIGITS:
        return b64encode(bytes.fromhex(digits)).decode().rstrip("=")
    return fingerprint.removeprefix("SHA256:").rstrip("=")


_SHA256_DIGITS: Final = 64


class _Cards:
    """Id and load of every card by number, packed: a few tens of bytes each."""

    def __init__(self) -> None:
        self._ids = bytearray()
        self._ends = array("Q", [0])
        self._loads = bytearray(1)
        self._names: list[str] = []

    def add(self, card_id: str, feeds: str) -> int:
        """Note a card; return its number, from 1."""
        if feeds not in self._names:
            self._names.append(feeds)
        self._ids += card_id.encode()
        self._ends.append(len(self._ids))
        self._loads.append(self._names.index(feeds))
        return len(self._ends) - 1

    def of(self, number: int) -> tuple[str, str]:
        """Return id and load of a card."""
        start, end = self._ends[number - 1 : number + 1]
        return self._ids[start:end].decode(), self._names[self._loads[number]]
