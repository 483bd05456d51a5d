"""Files of records → their sealed content, and where a file still holds a clear secret.

Reads files; writes none: that is the caller's part, once a whole file is known to be good.
"""

import gzip
import io
from collections.abc import Iterable, Iterator, Sequence
from operator import itemgetter
from pathlib import Path
from typing import Any

import orjson

from auditor.dataclass import dataclass
from auditor.errors import Fault, RecordError
from auditor.facts.fact import Context
from auditor.facts.sealing import seal
from auditor.intake.folder import is_folder, record_files
from auditor.intake.source import STANDARD_INPUT, RawRecord, open_sources
from auditor.record.pointer import join
from auditor.record.reading import BYTE_ORDER_MARK, read_record
from auditor.record.schema import SCHEMA_NAME
from auditor.record.secret_place import is_clear

_NOTHING = io.BytesIO()
_REMEDY = "Seal the record: witnessmark seal RECORD --key FILE."


@dataclass(frozen=True, slots=True)
class RecordFile:
    """A file of records: its path, and its path below the folder that was named (else its name)."""

    path: str
    below: str


@dataclass(frozen=True, slots=True)
class SealedFile:
    """What a file is to hold. ``changed`` is false where it held no clear secret."""

    content: bytes
    changed: bool
    secrets: int


def files_of(paths: Sequence[str]) -> Iterator[RecordFile | Fault]:
    """Yield the files of records that paths lead to, and a fault for what can't be one."""
    for path in paths:
        if path == STANDARD_INPUT:
            yield Fault(path, "", 0, 0, "standard input can't be sealed", "Name files or folders.")
        elif is_folder(path):
            for found in record_files(path):
                yield (
                    RecordFile(found, str(Path(found).relative_to(path))) if isinstance(found, str) else found
                )
        else:
            yield RecordFile(path, Path(path).name)


def sealed_file(path: str, key: bytes, context: Context) -> SealedFile:
    """Return what a file of records holds once it is sealed.

    A ``.json`` record is written with an indent of two, ``.ndjson`` a record a line; ``.gz`` is
    packed again.

    Raises:
        RecordError: if any record of the file can't be used; with every fault.
    """
    low = path.lower()
    several = ".ndjson" in Path(low).suffixes
    option = orjson.OPT_APPEND_NEWLINE | (0 if several else orjson.OPT_INDENT_2)
    parts: list[bytes] = []
    faults: list[Fault] = []
    clear = 0
    for raw in open_sources([path], _NOTHING):
        try:
            settings, count = _sealed(raw, key, context)
        except RecordError as error:
            faults += error.faults
            continue
        clear += count
        parts.append(orjson.dumps(settings, option=option))
    if faults:
        raise RecordError(faults)
    content = b"".join(parts)
    return SealedFile(gzip.compress(content, mtime=0) if low.endswith(".gz") else content, clear > 0, clear)


def _sealed(raw: RawRecord | Fault, key: bytes, context: Context) -> tuple[dict[str, Any], int]:
    if isinstance(raw, Fault):
        raise RecordError([raw])
    record = read_record(raw.text, raw.file, first_line=raw.line)
    count = sum(is_clear(secret) for _, secret in record.secrets)
    return seal(record.settings, key, context), count


@dataclass(frozen=True, slots=True)
class Unsealed:
    """Why a file is not fit to be shown around: a clear secret, or that it can't be told."""

    fault: Fault
    is_secret: bool


def unsealed(paths: Sequence[str]) -> Iterator[Unsealed]:
    """Yield every clear secret of the records that paths lead to, and every record that can't be judged.

    Clear secrets are found in faulty records too, as long as they are JSON. JSON that is no
    record is passed by.
    """
    for raw in open_sources(paths, _NOTHING):
        if isinstance(raw, Fault):
            yield Unsealed(raw, is_secret=False)
        else:
            yield from _unsealed(raw)


def _unsealed(raw: RawRecord) -> Iterator[Unsealed]:
    document = _parsed(raw.text)
    if document is not None and not _is_record(document):
        return
    found = [join(tokens) for tokens in _clear_places(document)]
    for pointer, line, column in _placed(raw, found):
        yield Unsealed(Fault(raw.file, pointer, line, column, "a clear secret", _REMEDY), is_secret=True)
    try:
        read_record(raw.text, raw.file, first_line=raw.line)
    except RecordError as error:
        for fault in error.faults:
            yield Unsealed(fault, is_secret=False)


def _parsed(text: bytes) -> Any:  # noqa: ANN401 - any JSON value
    try:
        return orjson.loads(text.removeprefix(BYTE_ORDER_MARK))
    except orjson.JSONDecodeError:
        return None


def _is_record(document: Any) -> bool:  # noqa: ANN401 - any JSON value
    """Tell whether JSON is meant for a record, sound or not."""
    return isinstance(document, dict) and (
        document.get("schema") == SCHEMA_NAME or isinstance(document.get("card"), dict)
    )


def _clear_places(document: Any) -> Iterator[tuple[str | int, ...]]:  # noqa: ANN401 - any JSON value
    """Yield the tokens of every clear secret, wherever it stands; deep nesting costs no recursion."""
    open_ends: list[tuple[tuple[str | int, ...], Any]] = [((), document)]
    while open_ends:
        at, value = open_ends.pop()
        if isinstance(value, dict):
            if is_clear(value):
                yield at
            open_ends += [((*at, name), inner) for name, inner in value.items()]
        elif isinstance(value, list):
            open_ends += [((*at, index), inner) for index, inner in enumerate(value)]


def _placed(raw: RawRecord, pointers: Iterable[str]) -> list[tuple[str, int, int]]:
    """Return pointers with line and column in the file, in file order."""
    wanted = list(pointers)
    if not wanted:
        return []
    from auditor.record.position import positions  # slow import, needed for what is found only

    places = positions(raw.text, wanted)
    found = [(pointer, raw.line - 1 + place.line, place.column) for pointer, place in places.items()]
    return sorted(found, key=itemgetter(1, 2))
