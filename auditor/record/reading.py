"""Bytes → a validated record, or every fault of the record at once.

The fast path trusts compiled code; only what it refuses is looked at again, slowly, to say
where and why. Opens no files.
"""

import hashlib
from dataclasses import dataclass, field
from functools import cache

import jsonschema_rs
import orjson

from auditor.errors import Fault, RecordError
from auditor.facts.fact import Settings
from auditor.record.schema import card_schema


@dataclass(frozen=True, slots=True)
class Limits:
    """What a record may cost: bytes of text, levels of brackets, items of one list."""

    record_bytes: int = 16 * 1024 * 1024
    depth: int = 64
    items: int = 10_000


DEFAULT = Limits()


@dataclass(frozen=True, slots=True)
class Record:
    """The validated settings of one card.

    ``line`` is the first line of the record in its file, from 1. ``text`` are its bytes as
    read. The settings may hold clear secrets, so neither they nor the text are in the repr.
    """

    settings: Settings = field(repr=False)
    file: str
    line: int
    text: bytes = field(repr=False)

    @property
    def card_id(self) -> str:
        """Return the id of the card."""
        card_id: str = self.settings["card"]["id"]
        return card_id

    @property
    def digest(self) -> str:
        """Compute the SHA-256 of the record's bytes, as hexadecimal digits."""
        return hashlib.sha256(self.text).hexdigest()


def read_record(text: bytes, file: str, limits: Limits = DEFAULT, *, first_line: int = 1) -> Record:
    """Return the record that a JSON text holds.

    Raises:
        RecordError: with every fault of the record, in file order.
    """
    try:
        settings = orjson.loads(text)
    except orjson.JSONDecodeError as error:
        raise RecordError([Fault(file, "", first_line, 0, "not JSON", "Mend it.")]) from error
    if not _validator().is_valid(settings):
        raise RecordError([Fault(file, "", first_line, 0, "not a record", "Mend it.")])
    return Record(settings, file, first_line, text)


@cache
def _validator() -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(dict(card_schema()), validate_formats=True)
