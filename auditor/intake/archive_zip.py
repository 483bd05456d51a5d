"""The files in a zip archive, with nothing unpacked to disk. Knows nothing of what they hold."""

import stat
import zipfile
import zlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import BinaryIO, cast

from auditor.intake.archive_guard import ArchiveLimits, Tally, is_skipped, plain_name, refuse

_CHUNK = 256 * 1024
_MOST_AT_ONCE = 8 * 1024 * 1024
"""Bytes of the list of entries: 20 000 of them with names of 350 characters; our own figure."""
_ENTRY_SIGN = b"PK\x01\x02"
_ENCRYPTED = 0x1
_METHODS = (zipfile.ZIP_STORED, zipfile.ZIP_DEFLATED)
_DAMAGED = (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, ValueError, OSError)


def zip_entries(
    path: str, wanted: Callable[[str], bool], limits: ArchiveLimits
) -> Iterator[tuple[str, bytes]]:
    """Yield name and bytes of each wanted file, sorted by name.

    Raises:
        InputError: at the first entry that is refused, or where the archive is damaged.
    """
    with Path(path).open("rb") as handle:
        tally = Tally(path, Path(path).stat().st_size, limits)
        archive = _opened(path, cast("BinaryIO", _Guarded(handle, path, limits.entries)))
        files = sorted(_ordinary_files(path, archive, tally), key=lambda pair: pair[0])
        for name, info in files:
            if not is_skipped(name) and wanted(name):
                yield name, _unpacked(path, archive, info, tally)


def _opened(path: str, handle: BinaryIO) -> zipfile.ZipFile:
    try:
        return zipfile.ZipFile(handle)
    except _DAMAGED:
        refuse(path, "", "the zip archive is cut off or damaged", "Copy the file again.")


def _ordinary_files(
    path: str, archive: zipfile.ZipFile, tally: Tally
) -> Iterator[tuple[str, zipfile.ZipInfo]]:
    for info in archive.infolist():
        tally.enter()
        name = plain_name(path, info.orig_filename)
        kind = stat.S_IFMT(info.external_attr >> 16)
        if kind not in (0, stat.S_IFREG, stat.S_IFDIR):
            refuse(path, name, "a link or a device in an archive")
        if info.is_dir() or kind == stat.S_IFDIR:
            continue
        if info.flag_bits & _ENCRYPTED:
            refuse(path, name, "encrypted", "Make the archive again without a password.")
        if info.compress_type not in _METHODS:
            refuse(path, name, "packed in a way other than deflate", "Make the archive again as a plain zip.")
        tally.enter_file(name, info.file_size)
        yield name, info


def _unpacked(path: str, archive: zipfile.ZipFile, info: zipfile.ZipInfo, tally: Tally) -> bytes:
    parts: list[bytes] = []
    try:
        with archive.open(info) as stream:
            while part := stream.read(_CHUNK):
                tally.count(len(part))
                parts.append(part)
    except _DAMAGED:
        refuse(path, info.filename, "this entry is cut off or damaged", "Copy the file again.")
    return b"".join(parts)


class _Guarded:
    """An open file that hands out no more at once than the list of entries may take.

    The list is read in one go and made into objects before anybody can count them.
    """

    def __init__(self, handle: BinaryIO, path: str, entries: int) -> None:
        self._handle, self._path, self._entries = handle, path, entries
        self.seek, self.tell = handle.seek, handle.tell

    def seekable(self) -> bool:
        return True

    def read(self, size: int = -1) -> bytes:
        part = self._handle.read(min(size, _MOST_AT_ONCE + 1) if size >= 0 else _MOST_AT_ONCE + 1)
        if len(part) > _MOST_AT_ONCE or part.count(_ENTRY_SIGN) > self._entries:
            refuse(self._path, "", f"more than {self._entries} entries", "Give one card's capture.")
        return part
