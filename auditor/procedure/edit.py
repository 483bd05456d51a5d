"""One change of one setting, and the record with changes made; decides no change.

A record is never changed in place: what is given stays as it is, and unchanged parts are shared.
"""

from collections.abc import Iterable
from enum import StrEnum
from typing import Any

from auditor.dataclass import dataclass
from auditor.record.pointer import join
from auditor.record.settings import Settings

APPEND = "-"
"""The token that stands for the place behind the last member of a list. Source: RFC 6901 section 4."""


class EditKind(StrEnum):
    """What is known of the new value.

    ``known``: the value itself. ``new_secret``: that it is made by the recipe; the value is a
    sealed secret that says so. ``on_proof``: what the work must bring about, such as an issued
    certificate or a test that arrived. ``asked``: nothing, it comes from the site; after the
    visit the setting is unknown until it is captured.
    """

    KNOWN = "known"
    NEW_SECRET = "new_secret"  # noqa: S105 - a kind, not a secret
    ON_PROOF = "on_proof"
    ASKED = "asked"


@dataclass(frozen=True, slots=True)
class Edit:
    """A setting, by its tokens, and its new value; ``note`` says what to enter where that needs words."""

    tokens: tuple[str, ...]
    value: Any = None
    kind: EditKind = EditKind.KNOWN
    note: str = ""

    @property
    def pointer(self) -> str:
        """Return the JSON Pointer of the setting."""
        return join(self.tokens)


def edited(record: Settings, edits: Iterable[Edit]) -> Settings:
    """Return the record with the changes made, in their order.

    Objects on the way to a setting are made where they are missing; a list is never made, for a
    list that was not captured may have members: what would change one of them changes nothing.
    """
    for edit in edits:
        record = _changed(record, edit.tokens, edit)
    return record


def _changed(value: Any, tokens: tuple[str, ...], edit: Edit) -> Any:  # noqa: ANN401 - any JSON value
    token, rest = tokens[0], tokens[1:]
    if isinstance(value, list):
        return _changed_list(value, token, rest, edit)
    if not rest and edit.kind is EditKind.ASKED:
        return {name: inner for name, inner in value.items() if name != token}
    if rest and token not in value and (edit.kind is EditKind.ASKED or _is_of_list(rest[0])):
        return value
    inner = _changed(value.get(token, {}), rest, edit) if rest else edit.value
    return {**value, token: inner}


def _is_of_list(token: str) -> bool:
    return token == APPEND or token.isdecimal()


def _changed_list(value: list[Any], token: str, rest: tuple[str, ...], edit: Edit) -> list[Any]:
    if token == APPEND:
        return [*value, edit.value]
    at = int(token)
    inner = _changed(value[at], rest, edit) if rest else edit.value
    return [*value[:at], inner, *value[at + 1 :]]
