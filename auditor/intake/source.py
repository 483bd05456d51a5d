"""Paths → a stream of raw records: files, folders, compressed or not, and standard input.

Reads bytes and cuts them into records; whether a record is any good is not asked here. Every
path that can't be used is a fault in the stream, and reading goes on.
"""

import gzip
import os
import stat
import zlib
from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from pathlib import Path
from typing import BinaryIO, cast

from auditor.dataclass import dataclass
from auditor.errors import Fault
from auditor.intake.folder import RECORD_ENDINGS, is_folder, record_files, shown, unreadable
from auditor.intake.lines import numbered_lines
from auditor.record.limits import DEFAULT, Limits, too_large

STANDARD_INPUT = "-"


@dataclass(frozen=True, slots=True)
class RawRecord:
    """The bytes of one record, unjudged: the file they stand in, and the first line there."""

    text: bytes
    file: str
    line: int


def open_sources(
    paths: Sequence[str], stdin: BinaryIO, limits: Limits = DEFAULT
) -> Iterator[RawRecord | Fault]:
    """Yield every raw record that the paths lead to, in order, and a fault for what can't be read.

    A path is a file (``*.json`` one record, ``*.ndjson`` one a line, either with ``.gz``), a
    folder of such files, or ``-`` for standard input. A file that several paths lead to is read
    once. Memory stays within one record, and a number for each file where there are several paths.
    """
    drained = False
    met: set[int] | None = set() if len(paths) > 1 else None
    for path in paths:
        if path != STANDARD_INPUT:
            yield from _path(path, limits, met)
        elif drained:
            yield Fault(path, "", 0, 0, "standard input is named twice", "Name it once.")
        else:
            drained = True
            yield from _standard_input(stdin, limits)


def _path(path: str, limits: Limits, met: set[int] | None) -> Iterator[RawRecord | Fault]:
    if is_folder(path):
        for found in record_files(path):
            yield from _file(found, limits, met) if isinstance(found, str) else (found,)
    else:
        yield from _file(path, limits, met)


def _file(path: str, limits: Limits, met: set[int] | None) -> Iterator[RawRecord | Fault]:
    try:
        status = Path(path).stat()
        if _is_met(status, met):
            return
        if not stat.S_ISREG(status.st_mode):
            yield Fault(shown(path), "", 0, 0, "no ordinary file", _NOT_ORDINARY)
        elif not path.lower().endswith(RECORD_ENDINGS):
            yield Fault(shown(path), "", 0, 0, "not the ending of a record file", _ENDINGS)
        elif path.lower().endswith(".gz"):
            yield from _packed(path, limits)
        else:
            yield from _plain(path, status.st_size, limits)
    except (OSError, ValueError) as error:  # a name may hold what no name can
        yield unreadable(path, error)


def _is_met(status: os.stat_result, met: set[int] | None) -> bool:
    """Tell whether a file was met before under this or another name, and note it."""
    if met is None:
        return False
    file = status.st_dev << 64 | status.st_ino
    known = file in met
    met.add(file)
    return known


_AHEAD = 64 * 1024
"""So much of a file is read at once: several records of the usual size."""

_DAMAGED = "the gzip data is cut off or damaged"
_COPY_AGAIN = "Copy the file again."
_GZIP = b"\x1f\x8b"
"""How gzip data begins. Source: RFC 1952 section 2.3.1."""

_WITHOUT_GZ = "If it is not packed, name it without .gz."
_ENDINGS = (
    f"Name a record with one of {', '.join(RECORD_ENDINGS)}. "
    "If a card exported this file, give the map of such exports: --map FILE."
)
_NOT_ORDINARY = "Send its content to standard input and give - as the path."


def _plain(path: str, size: int, limits: Limits) -> Iterator[RawRecord | Fault]:
    with Path(path).open("rb", buffering=_AHEAD) as handle:
        if path.lower().endswith(".ndjson"):
            yield from _by_line(numbered_lines(handle, shown(path), limits), shown(path))
        else:
            yield _whole(handle.read(min(size, limits.record_bytes) + 1), shown(path), limits)


def _packed(path: str, limits: Limits) -> Iterator[RawRecord | Fault]:
    with Path(path).open("rb") as handle:
        yield from raw_records(handle, shown(path), limits)


def raw_records(stream: BinaryIO, file: str, limits: Limits = DEFAULT) -> Iterator[RawRecord | Fault]:
    """Yield the raw records of a file that is open at its start; its name tells how it is written."""
    name = file.lower()
    is_packed = name.endswith(".gz")
    if is_packed and not _begins_as_gzip(stream):
        yield Fault(file, "", 0, 0, "not gzip data, although its name says so", _WITHOUT_GZ)
        return
    try:
        opened = cast("BinaryIO", gzip.GzipFile(fileobj=stream)) if is_packed else stream
        if name.removesuffix(".gz").endswith(".ndjson"):
            yield from _by_line(numbered_lines(opened, file, limits, skips=not is_packed), file)
        else:
            yield _whole(_start_of(opened, limits.record_bytes + 1), file, limits)
    except (EOFError, zlib.error, gzip.BadGzipFile):
        yield Fault(file, "", 0, 0, _DAMAGED, _COPY_AGAIN)


def _begins_as_gzip(stream: BinaryIO) -> bool:
    """Tell whether data begins as gzip does, be it cut off; reads nothing away."""
    start = stream.read(len(_GZIP))
    stream.seek(0)
    return _GZIP.startswith(start)


def _standard_input(stdin: BinaryIO, limits: Limits) -> Iterator[RawRecord | Fault]:
    """Tell by the first line: whole JSON is a line of many, cut-off JSON begins one object."""
    from auditor.record.position import is_cut_off  # slow import, needed here only

    lines = numbered_lines(stdin, STDIN_NAME, limits)
    first = next(lines, None)
    if isinstance(first, tuple) and is_cut_off(first[1]):
        number, start = first
        rest = _start_of(stdin, limits.record_bytes - len(start))
        yield _whole(start + b"\n" + rest, STDIN_NAME, limits, line=number)
    else:
        yield from _by_line(chain([first] if first else [], lines), STDIN_NAME)


STDIN_NAME = "standard input"
"""What stands for the file of a record that came by standard input."""


def _by_line(lines: Iterable[tuple[int, bytes] | Fault], file: str) -> Iterator[RawRecord | Fault]:
    nothing = True
    for line in lines:
        if nothing and isinstance(line, tuple) and line[1].startswith(_REPORT_LINE):
            yield _a_report(file)
            return
        nothing = False
        yield line if isinstance(line, Fault) else RawRecord(line[1], file, line[0])
    if nothing:
        yield Fault(file, "", 0, 0, "holds no record", "Export it again, or leave it out.")


_REPORT_LINE = b'{"line":"run"'
"""How our own reports begin that are lines of JSON."""


def _a_report(file: str) -> Fault:
    from auditor.record.refusal import A_REPORT, MOVE_IT  # slow import, needed for faults only

    return Fault(file, "", 0, 0, A_REPORT, MOVE_IT)


def _whole(text: bytes, file: str, limits: Limits, *, line: int = 1) -> RawRecord | Fault:
    return too_large(file, line, limits) if len(text) > limits.record_bytes else RawRecord(text, file, line)


def _start_of(stream: BinaryIO, most: int) -> bytes:
    """Read at most so many bytes, without asking for the memory before they are there."""
    parts: list[bytes] = []
    while most > 0 and (part := stream.read(min(most, _CHUNK))):
        parts.append(part)
        most -= len(part)
    return b"".join(parts)


_CHUNK = 256 * 1024
