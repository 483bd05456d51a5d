"""By what a finding is known again: card, rule and member, whatever the order of a file or list.

A place in a list says nothing here: a member is known by what names it on the card.
"""

import hashlib
import json
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Any, Final, NamedTuple

from auditor.record.pointer import join, split, value_at
from auditor.record.settings import Settings
from auditor.scoring.assessment import Finding, Missing

# All may be shown: a test holds that against the schema.
NAMES: Final = ("name", "host", "address", "algorithm", "group", "day", "mac_address")
FURTHER: Final = (
    "port", "bits", "context", "security_model", "security_name", "level", "match", "version", "user",
    "subtree", "step", "time", "action", "outlet_group",
)  # fmt: skip
_ALL_NAMES: Final = (*NAMES, *FURTHER)


class FindingIdentity(NamedTuple):
    """By what a finding is known again in another audit.

    ``card`` and ``rule`` are ids. ``member`` is empty for a finding on the card, else what names
    the list member, such as ``name=admin`` or ``host=192.0.2.7/port=1812``.
    """

    card: str
    rule: str
    member: str

    @property
    def fingerprint(self) -> str:
        """Return a digest of the three: 32 hexadecimal digits, equal exactly for equal identities."""
        text = json.dumps(self, ensure_ascii=True, separators=(",", ":"))
        return hashlib.sha256(text.encode()).hexdigest()[:32]


def identities(settings: Settings, found: Iterable[Finding | Missing]) -> Iterator[FindingIdentity]:
    """Yield the identity of each finding of one card, in their order; no two are the same."""
    card_id = settings["card"]["id"]
    keys: dict[str, Sequence[str]] = {}
    for each in found:
        place = each.rule.for_each
        if not place or each.pointer == place:
            yield FindingIdentity(card_id, each.rule.id, "")
            continue
        if place not in keys:
            keys[place] = member_keys(value_at(settings, each.rule.for_each_tokens) or ())
        yield FindingIdentity(card_id, each.rule.id, keys[place][int(split(each.pointer)[-1])])


def member_keys(members: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """Return by what each member of a list is known on its card; no two are the same.

    That is the first setting that names it (name, host, address and the like). Where several
    members have the same, further settings go along; where even these are the same, or there
    are none, the place among those that can't be told apart does. So a key changes only with
    what names its member, and when another of the same name comes or goes.
    """
    full = [tuple(f"{name}={member[name]}" for name in _ALL_NAMES if name in member) for member in members]
    alike = Counter(key[:1] for key in full)
    return tuple(join(key)[1:] for key in _told_apart([_short(key, alike) for key in full]))


class Named:
    """Names the places of one card so that they outlast a new order of its lists."""

    def __init__(self, settings: Settings) -> None:
        """Take the settings of the card; its lists are looked at when a place in one is asked for."""
        self._settings = settings
        self._keys: dict[tuple[str, ...], Sequence[str]] = {}

    def tokens(self, tokens: Iterable[str | int]) -> tuple[str, ...]:
        """Return the tokens of a pointer, for a place in a list what names the member there."""
        name: list[str] = []
        at: list[str] = []
        for token in tokens:
            members = self._members(tuple(at))
            name.append(members[int(token)] if members else str(token))
            at.append(str(token))
        return tuple(name)

    def _members(self, at: tuple[str, ...]) -> Sequence[str]:
        """Return the names of the members of the list at a place; none where it is no list of objects."""
        if at not in self._keys:
            found = value_at(self._settings, at)
            is_list = isinstance(found, list) and all(isinstance(member, dict) for member in found)
            self._keys[at] = member_keys(found) if is_list else ()
        return self._keys[at]


def _short(key: tuple[str, ...], alike: Mapping[tuple[str, ...], int]) -> tuple[str, ...]:
    return key if alike[key[:1]] > 1 else key[:1]


def _told_apart(keys: Sequence[tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    alike, met = Counter(keys), Counter[tuple[str, ...]]()
    for key in keys:
        met[key] += 1
        yield (*key, f"nth={met[key]}") if alike[key] > 1 or not key else key
