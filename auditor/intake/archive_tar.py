"""The files in a tar archive, packed with gzip or not, as a stream. Knows nothing of what they hold."""

import gzip
import tarfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO, cast

from auditor.intake.archive_guard import ArchiveLimits, Tally, is_skipped, plain_name, refuse

_HEADER_BYTES = 64 * 1024
"""Most bytes of one entry's headers; extended ones are read whole, one inside the other; our own figure."""
_DAMAGED = (tarfile.TarError, zlib.error, EOFError, ValueError, OverflowError, OSError)
_COPY = "Copy the file again."
_CUT_OFF = "the tar archive is cut off or damaged"


def tar_entries(
    path: str, wanted: Callable[[str], bool], limits: ArchiveLimits, *, packed: bool
) -> Iterator[tuple[str, bytes]]:
    """Yield name and bytes of each wanted file, in the order of the archive.

    Raises:
        InputError: at the first entry that is refused, or where the archive is damaged.
    """
    with Path(path).open("rb") as handle:
        tally = Tally(path, Path(path).stat().st_size if packed else None, limits)
        stream = cast("BinaryIO", gzip.GzipFile(fileobj=handle)) if packed else handle
        meter = _Meter(stream, tally)
        archive = _opened(path, meter)
        for name, member in _ordinary_files(path, archive, meter, tally):
            if not is_skipped(name) and wanted(name):
                yield name, _content(path, archive, member)
        _check_end(path, archive, meter)


def _opened(path: str, meter: "_Meter") -> tarfile.TarFile:
    try:
        return tarfile.open(fileobj=cast("BinaryIO", meter), mode="r|", errors="surrogateescape")
    except _DAMAGED:
        refuse(path, "", "no tar archive, or one that is cut off or damaged", _COPY)


def _ordinary_files(
    path: str, archive: tarfile.TarFile, meter: "_Meter", tally: Tally
) -> Iterator[tuple[str, tarfile.TarInfo]]:
    while (member := _next(path, archive)) is not None:
        tally.enter()
        name = plain_name(path, member.name)
        if not member.isdir():
            if not member.isreg() or member.issparse():
                refuse(path, name, "a link, a device or a sparse file in an archive")
            tally.enter_file(name, member.size)
            meter.allow_to(archive.offset)
            yield name, member
        meter.allow_to(archive.offset)


def _next(path: str, archive: tarfile.TarFile) -> tarfile.TarInfo | None:
    try:
        return archive.next()
    except _DAMAGED:
        refuse(path, "", _CUT_OFF, _COPY)


def _content(path: str, archive: tarfile.TarFile, member: tarfile.TarInfo) -> bytes:
    try:
        stream = archive.extractfile(member)
        content = stream.read() if stream else b""
    except _DAMAGED:
        refuse(path, member.name, "this entry is cut off or damaged", _COPY)
    if len(content) != member.size:
        refuse(path, member.name, "this entry is cut off", _COPY)
    return content


def _check_end(path: str, archive: tarfile.TarFile, meter: "_Meter") -> None:
    """Refuse an archive that does not end in zeros: the library takes any break for the end."""
    end = archive.offset
    try:
        while meter.read(tarfile.RECORDSIZE):
            meter.allow_to(meter.length)
    except _DAMAGED:
        refuse(path, "", _CUT_OFF, _COPY)
    if meter.length < end + tarfile.BLOCKSIZE or meter.last_content > end:
        refuse(path, "", _CUT_OFF, _COPY)


class _Meter:
    """A stream that counts what is read, and ends with an error where too much is asked for.

    ``length`` is how much was read, ``last_content`` the end of the last byte that is not zero.
    """

    def __init__(self, stream: BinaryIO, tally: Tally) -> None:
        self._stream, self._tally = stream, tally
        self.length = self.last_content = 0
        self.allow_to(0)

    def allow_to(self, end: int) -> None:
        """Allow reading up to the end of an entry, and on through the headers of the next."""
        self._allowed = end + _HEADER_BYTES + 2 * tarfile.RECORDSIZE

    def read(self, size: int) -> bytes:
        part = self._stream.read(size)
        if part.strip(b"\0"):
            self.last_content = self.length + len(part.rstrip(b"\0"))
        self.length += len(part)
        self._tally.count(len(part))
        if self.length > self._allowed:
            raise tarfile.ReadError(_CUT_OFF)
        return part
