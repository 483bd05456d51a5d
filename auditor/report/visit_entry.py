"""One change of a setting in words: what it is called, what to enter, what was there before."""

from collections.abc import Iterator
from typing import Any, Final

from auditor.dataclass import dataclass
from auditor.procedure.edit import APPEND, Edit
from auditor.record.pointer import value_at
from auditor.record.schema import place_at
from auditor.record.settings import Settings
from auditor.rules.evidence import is_shown, value_text

_NOTED: Final = frozenset(
    {
        "is_factory", "password_is_factory", "password_changed_on", "tested_on", "last_checked_on",
        "card_clock", "reference_clock", "taken_at", "is_shared", "owner", "purpose",
    }
)  # fmt: skip
_BACKUP: Final = ("maintenance", "backup")

_UNITS: Final = {"s": "s", "min": "min", "days": "days", "c": "°C", "percent": "%", "bits": "bit"}
"""Ends of the names of settings, and the units that they stand for."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One thing to enter: the setting, the value or how to come by it, and what was there before.

    ``kind`` is an ``EditKind``; ``is_noted`` tells that it goes into the record, not the card.
    No text holds a secret.
    """

    pointer: str
    setting: str
    value: str
    before: str
    kind: str
    is_noted: bool


def is_noted(edit: Edit) -> bool:
    """Return whether a change is noted in the record only: no card has a field for it."""
    return edit.tokens[-1] in _NOTED or edit.tokens[:2] == _BACKUP


def entry_of(edit: Edit, before: Settings) -> Entry:
    """Return a change in words; ``before`` are the settings that it finds."""
    noted = is_noted(edit)
    setting = ": ".join(_titles(edit.tokens))
    return Entry(
        edit.pointer,
        f"To note in the new record: {setting}" if noted else setting,
        _value(edit),
        _former(edit, before),
        str(edit.kind),
        noted,
    )


def _titles(tokens: tuple[str, ...]) -> Iterator[str]:
    """Yield the titles of the schema on the way to a setting, with the place in a list from 1."""
    for depth in range(1, len(tokens) + 1):
        token = tokens[depth - 1]
        place = place_at(_schema_tokens(tokens[:depth]))
        if token == APPEND:
            yield "new"
        elif token.isdecimal():
            yield f"number {int(token) + 1}"
        elif place is not None and place.title:
            yield place.title


def _schema_tokens(tokens: tuple[str, ...]) -> tuple[str, ...]:
    return tuple("0" if token == APPEND else token for token in tokens)


def _value(edit: Edit) -> str:
    if edit.note:
        return edit.note
    return value_to_enter(edit.value, edit.tokens[-1]) if is_shown(edit.pointer) else "as described"


def value_to_enter(value: Any, name: str) -> str:  # noqa: ANN401 - any JSON value
    """Return a value as somebody enters it: whole, with the unit that the setting's name ends in."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return ", ".join(value_to_enter(each, name) for each in value) or "none"
    unit = _UNITS.get(name.rpartition("_")[2], "") if isinstance(value, int | float) else ""
    return f"{value if isinstance(value, str) else value_text(value)} {unit}".rstrip()


def _former(edit: Edit, before: Settings) -> str:
    place = place_at(_schema_tokens(edit.tokens))
    if edit.tokens[-1] == APPEND:
        return "not there"
    value = value_at(before, edit.tokens)
    if place is not None and place.kind == "secret":
        return "the former secret, from the site's store"
    if value is None:
        return "not captured: note it before the change"
    return value_to_enter(value, edit.tokens[-1]) if is_shown(edit.pointer) else "as in the backup"
