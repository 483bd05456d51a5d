"""What one recovered secret opens: the cards of an estate that share a secret or a key.

Of a secret nothing is kept but a digest under a random key that lives as long as the run. Only
secrets of one kind are compared: a community that is also a password goes unseen here.
"""

import os
from base64 import b64encode
from collections.abc import Callable, Iterable, Iterator, Mapping
from typing import Final, TypeAlias, TypeVar

from auditor.dataclass import dataclass, field
from auditor.errors import RecordError
from auditor.facts.certificate import certificate_of
from auditor.fleet.addressing import EstateAddresses
from auditor.fleet.card_names import CardName, CardNames
from auditor.fleet.seen import Seen
from auditor.record.reading import Record
from auditor.record.settings import Settings
from auditor.scoring.shared_secret import SHARED_KINDS, SHOWN_CARDS, WEIGHTY, SharedSecret, severity_of

Item = TypeVar("Item", bound=Record | RecordError)
Value: TypeAlias = tuple[str, str, str]
"""The kind of something that cards may share, its form, and the text by which it is known as the same."""

Passphrases: TypeAlias = Callable[[Settings], Mapping[str, str]]
"""Gives, by the localized keys of a record (lower case), what stands for the passphrase they were made of."""


def none_found(_record: Settings) -> Mapping[str, str]:
    """Find no passphrase: the keys are compared as they are."""
    return {}


_EMPTY: Settings = {}


@dataclass(slots=True)
class _Group:
    """A shared secret while cards come in; ``last`` is the number of the card that came last."""

    kind: str
    form: str
    last: int = 0
    feeds: dict[str, int] = field(default_factory=dict)
    card_ids: list[str] = field(default_factory=list)
    weighty_ids: list[str] = field(default_factory=list)

    def add(self, number: int, name: CardName) -> None:
        if number == self.last:
            return
        self.last = number
        card_id, feeds, _ = name
        self.feeds[feeds] = self.feeds.get(feeds, 0) + 1
        if len(self.card_ids) < SHOWN_CARDS:
            self.card_ids.append(card_id)
        if len(self.weighty_ids) < SHOWN_CARDS and feeds in WEIGHTY:
            self.weighty_ids.append(card_id)


class Reuse:
    """Takes records one by one and gives what they share at the end.

    ``addresses`` takes the addresses of each, which no two cards should share either.
    """

    def __init__(self, passphrases: Passphrases = none_found) -> None:
        """Begin with no card, and a random key of this run."""
        key = os.urandom(16).hex()
        self._salts = {kind: f"{key} {kind} " for kind in SHARED_KINDS}
        self._passphrases = passphrases
        self._seen = Seen()
        self._groups: dict[int, _Group] = {}
        self._cards = CardNames()
        self.addresses = EstateAddresses(self._cards)

    def watch(self, records: Iterable[Item]) -> Iterator[Item]:
        """Pass records on, taking each; errors go through untouched."""
        for record in records:
            if isinstance(record, Record):
                self.add(record)
            yield record

    def add(self, record: Record) -> None:
        """Take one card."""
        name = _name_of(record)
        number = self._cards.add(name)
        self.addresses.add(record.settings, number)
        salts, meet, groups = self._salts, self._seen.meet, self._groups
        for kind, form, text in [*self._secrets(record), *_public_keys(record.settings)]:
            # Keyed by the salt, and by the interpreter's own random key (SipHash, PEP 456).
            digest = hash(f"{salts[kind]}{form} {text}")
            first = meet(digest, number)
            if first and first != number:
                group = groups.get(digest) or self._begun(digest, first, kind, form)
                group.add(number, name)

    def _secrets(self, record: Record) -> list[Value]:
        """Return what makes each secret the same as another, as far as its form lets it be known."""
        found, keys = [], []
        for kind, secret in record.secrets:
            clear = secret.get("clear")
            if clear is not None:
                found.append((kind, "clear", clear.reveal()))
            elif "localized" in secret:
                keys.append((kind, secret["localized"].lower()))
            elif "empty" not in secret:
                found += _hidden(kind, secret)
        return [*found, *self._localized(keys, record.settings)] if keys else found

    def _localized(self, keys: Iterable[tuple[str, str]], settings: Settings) -> Iterator[Value]:
        """Yield localized keys: as their passphrase where that is found, else as they are."""
        words = self._passphrases(settings)
        for kind, key in keys:
            yield (kind, "passphrase", words[key]) if key in words else (kind, "localized", key)

    def _begun(self, digest: int, first: int, kind: str, form: str) -> _Group:
        """Return the new group of a digest, with the card that it was met on first."""
        group = self._groups[digest] = _Group(kind, form)
        group.add(first, self._cards.of(first))
        return group

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


def _name_of(record: Record) -> CardName:
    settings = record.settings
    feeds = settings.get("equipment", _EMPTY).get("feeds", "")
    return CardName(record.card_id, feeds, settings.get("card", _EMPTY).get("site", ""))


def _worst_first(one: SharedSecret) -> tuple[object, ...]:
    return (-one.severity.score, -one.cards, one.kind, one.card_ids, one.form)


def _finished(group: _Group, environments: Mapping[str, Mapping[str, str]]) -> SharedSecret:
    feeds = dict(sorted(group.feeds.items()))
    ids = tuple(group.card_ids), tuple(group.weighty_ids)
    severity = severity_of(group.kind, feeds, environments)
    return SharedSecret(group.kind, group.form, sum(feeds.values()), feeds, *ids, severity)


def _hidden(kind: str, secret: Settings) -> Iterator[Value]:
    if "crypt" in secret:
        yield kind, "crypt", secret["crypt"]
    elif "tag" in secret["sealed"]:
        sealed = secret["sealed"]
        yield kind, "tag", f"{sealed.get('key', '')} {sealed['tag']}"


def _public_keys(settings: Settings) -> Iterator[Value]:
    """Yield the fingerprints of a card's certificate, of its key, and of its SSH host keys."""
    if "certificate" in settings.get("tls", _EMPTY):
        certificate = certificate_of(settings)
        if "fingerprint_sha256" in certificate:
            yield "certificate", "fingerprint", _octets(certificate["fingerprint_sha256"])
        if "public_key_sha256" in certificate:
            yield "certificate_key", "fingerprint", certificate["public_key_sha256"]
    for key in settings.get("ssh", _EMPTY).get("host_keys", ()):
        if "fingerprint_sha256" in key:
            yield "ssh_host_key", "fingerprint", _octets(key["fingerprint_sha256"])


def _octets(fingerprint: str) -> str:
    """Return a SHA-256 fingerprint in one form, be it written in hexadecimal digits or in base64."""
    digits = fingerprint.replace(":", "")
    if len(digits) == _SHA256_DIGITS:
        return b64encode(bytes.fromhex(digits)).decode().rstrip("=")
    return fingerprint.removeprefix("SHA256:").rstrip("=")


_SHA256_DIGITS: Final = 64
