"""Bytes → a validated record, or every fault of the record at once.

The fast path trusts compiled code; only what it refuses is looked at again, slowly, to say
where and why. From here on a clear secret exists inside ``Clear`` only. Opens no files.
"""

import hashlib
from functools import cache
from typing import Any, NamedTuple

import jsonschema_rs
import orjson

from auditor.dataclass import dataclass, field
from auditor.errors import Fault, RecordError
from auditor.record.clear import Clear
from auditor.record.digests import Digests, digests_of
from auditor.record.limits import DEFAULT, Limits
from auditor.record.mask import holds_masked
from auditor.record.schema import card_schema
from auditor.record.secret_place import Found, conceal, secrets_of
from auditor.record.settings import Settings

BYTE_ORDER_MARK = b"\xef\xbb\xbf"


class _Read(NamedTuple):
    """Settings that were read, and the secrets among them, not wrapped yet."""

    settings: Settings
    secrets: list[Found]
    digests: Digests | None = None


@dataclass(frozen=True, slots=True)
class Record:
    """The validated settings of one card.

    ``line`` is the first line of the record in its file, from 1. ``text`` are its bytes as
    read, which may hold secrets. ``secrets`` are those of the settings, with their kinds, and
    ``holds_clear`` tells whether one of them stands in clear; in ``settings`` it is a ``Clear``.
    ``in_work_tree`` tells whether the file lies in a version-control work tree; None where
    nobody looked, or there is no file. ``is_made`` tells that the text was made from a file of
    another form, which ``file`` names: a place in the text is none in that file. ``digests`` are
    those of its parts; None where the text had to be looked at twice.
    """

    settings: Settings = field(repr=False)
    file: str
    line: int
    text: Clear[bytes]
    secrets: list[Found] = field(repr=False)
    holds_clear: bool
    in_work_tree: bool | None = None
    is_made: bool = False
    digests: Digests | None = field(default=None, repr=False)

    @property
    def card_id(self) -> str:
        """Return the id of the card."""
        card_id: str = self.settings["card"]["id"]
        return card_id

    @property
    def digest(self) -> str:
        """Compute the SHA-256 of the record's bytes, as hexadecimal digits."""
        return hashlib.sha256(self.text.reveal()).hexdigest()


def read_record(
    text: bytes, file: str, limits: Limits = DEFAULT, *,
    first_line: int = 1, in_work_tree: bool | None = None,
) -> Record:  # fmt: skip
    """Return the record that a JSON text (UTF-8, with or without byte order mark) holds.

    ``first_line`` is the line of the file on which the text begins; ``in_work_tree`` tells
    whether the file lies in a version-control work tree, where somebody looked.

    Raises:
        RecordError: with every fault of the record, in file order.
    """
    read = _accepted(text, limits) or _reconsidered(text, file, limits, first_line)
    return _record(read, text, file, first_line, in_work_tree=in_work_tree)


def read_again(text: bytes, file: str, *, first_line: int = 1, in_work_tree: bool | None = None) -> Record:
    """Return the record of a text that was read before, to the last byte and by the same schema.

    Nothing is checked again: of any other text this may make a record that fits no schema.
    """
    settings: Settings = orjson.loads(text.removeprefix(BYTE_ORDER_MARK))
    read = _Read(settings, secrets_of(settings))
    return _record(read, text, file, first_line, in_work_tree=in_work_tree)


def _record(read: _Read, text: bytes, file: str, first_line: int, *, in_work_tree: bool | None) -> Record:
    return Record(
        read.settings,
        file,
        first_line,
        Clear(text),
        read.secrets,
        conceal(read.secrets),
        in_work_tree,
        digests=read.digests,
    )


def raw_settings(record: Record) -> Settings:
    """Return the settings as they were read, clear secrets laid open.

    For what makes a record of them again: a merge, a dialogue, a sealing. Nothing else.
    """
    settings: Settings = orjson.loads(record.text.reveal().removeprefix(BYTE_ORDER_MARK))
    return settings


def _accepted(text: bytes, limits: Limits) -> _Read | None:
    """Return the settings if nothing at all is doubtful."""
    if len(text) > limits.record_bytes:
        return None
    try:
        settings: Settings = orjson.loads(text)
    except orjson.JSONDecodeError:
        return None
    if not _validator().is_valid(settings):
        return None
    secrets = secrets_of(settings)
    if holds_masked(secrets) or not _within(settings, limits):
        return None
    compact = orjson.dumps(settings)
    # Most records are written compactly: to compare them whole is much cheaper than to count.
    if text != compact and may_have_doubles(text, compact):
        return None
    return _Read(settings, secrets, digests_of(settings))


def may_have_doubles(text: bytes, compact: bytes) -> bool:
    r"""Tell whether the parser may have dropped a member whose name stands twice.

    ``compact`` is what was parsed, written again.

    A dropped member takes at least its own colon along, and nothing but the escape of a
    colon, \u003a, can add one: without that escape, equal counts prove that none was dropped.
    """
    return text.count(b":") != compact.count(b":") or (b"\\" in text and b"\\u003" in text)


def _within(settings: Settings, limits: Limits) -> bool:
    """Tell whether a valid record keeps limits tighter than those of the schema."""
    if limits.depth >= DEFAULT.depth and limits.items >= DEFAULT.items:
        return True
    level: list[Any] = [settings]
    for _ in range(limits.depth):
        if any(isinstance(value, list) and len(value) > limits.items for value in level):
            return False
        inner = (child for value in level for child in (value.values() if isinstance(value, dict) else value))
        level = [child for child in inner if isinstance(child, (dict, list))]
    return not level


def _reconsidered(text: bytes, file: str, limits: Limits, first_line: int) -> _Read:
    from auditor.record.refusal import find_faults  # slow import, needed for faults only

    faults = find_faults(text, file, limits, first_line=first_line)
    if faults:
        raise RecordError(faults)
    settings: Settings = orjson.loads(text.removeprefix(BYTE_ORDER_MARK))
    if not _validator().is_valid(settings):
        problem = "the record departs from its schema in a way that has no words yet"
        raise RecordError([Fault(file, "", first_line, 0, problem, "Compare it with a record that passes.")])
    return _Read(settings, secrets_of(settings))


@cache
def _validator() -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(dict(card_schema()), validate_formats=True)
