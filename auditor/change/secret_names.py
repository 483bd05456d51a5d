"""The secrets of a record by names that outlast a new order of its lists. Tells no secret."""

from collections.abc import Mapping, Sequence
from typing import Any, TypeAlias

from auditor.record.pointer import value_at
from auditor.record.secret_place import is_clear, located_secrets
from auditor.record.settings import Settings
from auditor.scoring.identity import member_keys

SecretName: TypeAlias = tuple[str, ...]
"""Tokens of its pointer; for the place in a list, what names the member."""


def clear_secrets(settings: Settings) -> Mapping[SecretName, str]:
    """Return the secrets that stand in clear: by name, their pointers."""
    return {
        name: pointer for name, (pointer, secret) in secrets_by_name(settings).items() if is_clear(secret)
    }


def secrets_by_name(settings: Settings) -> Mapping[SecretName, tuple[str, Mapping[str, Any]]]:
    """Return every secret by its name, with its pointer."""
    keys: dict[tuple[str, ...], Sequence[str]] = {}
    found = {}
    for located in located_secrets(settings):
        pointer = "/" + "/".join(map(str, located.tokens))
        found[_name(settings, located.tokens, keys)] = (pointer, located.secret)
    return found


def _name(
    settings: Settings, tokens: tuple[str | int, ...], keys: dict[tuple[str, ...], Sequence[str]]
) -> SecretName:
    name: list[str] = []
    for place, token in enumerate(tokens):
        if isinstance(token, str):
            name.append(token)
            continue
        at = tuple(map(str, tokens[:place]))
        if at not in keys:
            keys[at] = member_keys(value_at(settings, at))
        name.append(keys[at][token])
    return tuple(name)
