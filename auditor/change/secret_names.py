"""The secrets of a record by names that outlast a new order of its lists. Tells no secret."""

from collections.abc import Mapping
from typing import Any, TypeAlias

from auditor.record.secret_place import is_clear, located_secrets
from auditor.record.settings import Settings
from auditor.scoring.identity import Named

SecretName: TypeAlias = tuple[str, ...]
"""Tokens of its pointer; for the place in a list, what names the member."""


def clear_secrets(settings: Settings) -> Mapping[SecretName, str]:
    """Return the secrets that stand in clear: by name, their pointers."""
    return {
        name: pointer for name, (pointer, secret) in secrets_by_name(settings).items() if is_clear(secret)
    }


def secrets_by_name(settings: Settings) -> Mapping[SecretName, tuple[str, Mapping[str, Any]]]:
    """Return every secret by its name, with its pointer."""
    named = Named(settings)
    return {
        named.tokens(located.tokens): ("/" + "/".join(map(str, located.tokens)), located.secret)
        for located in located_secrets(settings)
    }
