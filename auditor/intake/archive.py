"""A folder or an archive → its files as name and bytes, with nothing written and no link followed.

Folders, zip, tar and tar.gz are told apart by content. What a file holds is not asked here.
"""

import os
import stat
from collections.abc import Callable, Iterator
from enum import Enum
from pathlib import Path

from auditor.errors import InputError
from auditor.intake.archive_guard import DEFAULT, ArchiveLimits, Tally, is_skipped, refuse
from auditor.intake.folder import is_folder, unreadable

_GZIP = b"\x1f\x8b"
_ZIPS = (b"PK\x03\x04", b"PK\x05\x06")
_TAR_AT, _TAR = 257, b"ustar"


class ArchiveKind(Enum):
    """What holds the files."""

    FOLDER = "folder"
    ZIP = "zip"
    TAR = "tar"
    GZIP = "gzip"


def archive_kind(path: str) -> ArchiveKind | None:
    """Tell what kind of archive a path is, by its first bytes; None if it is none or can't be read.

    ``GZIP`` may be a tar.gz or anything else in gzip.

    Source: APPNOTE.TXT 6.3.3 (zip, from memory), RFC 1952 section 2.3.1 (gzip), POSIX.1-2017 pax (ustar).
    """
    if is_folder(path):
        return ArchiveKind.FOLDER
    try:
        if not stat.S_ISREG(Path(path).stat().st_mode):
            return None
        with Path(path).open("rb") as handle:
            start = handle.read(_TAR_AT + len(_TAR))
    except (OSError, ValueError):
        return None
    if start.startswith(_ZIPS):
        return ArchiveKind.ZIP
    if start.startswith(_GZIP):
        return ArchiveKind.GZIP
    return ArchiveKind.TAR if start[_TAR_AT:] == _TAR else None


def _every(_name: str) -> bool:
    return True


def read_entries(
    path: str, wanted: Callable[[str], bool] = _every, limits: ArchiveLimits = DEFAULT
) -> Iterator[tuple[str, bytes]]:
    """Yield name and bytes of each wanted file; one file is in memory at a time.

    Names are relative, with forward slashes. Hidden files are left out. The order is that of
    the names in folders and zips, that of the archive in tars.

    Raises:
        InputError: at the first entry that is refused (an absolute path or one with ``..``, a
            link, a device, a doubled name, too many or too large), or where the archive is
            damaged or can't be read.
    """
    try:
        yield from _entries(path, wanted, limits)
    except (OSError, ValueError) as error:  # a name may hold what no name can
        raise InputError([unreadable(getattr(error, "filename", None) or path, error)]) from error


def _entries(path: str, wanted: Callable[[str], bool], limits: ArchiveLimits) -> Iterator[tuple[str, bytes]]:
    kind = archive_kind(path)
    if kind is ArchiveKind.FOLDER:
        return _folder_entries(path, wanted, limits)
    if kind is ArchiveKind.ZIP:
        from auditor.intake.archive_zip import zip_entries

        return zip_entries(path, wanted, limits)
    if kind is None:
        Path(path).stat()  # a missing file says so itself
        refuse(path, "", "neither a folder nor an archive", "Give a folder, a zip, a tar or a tar.gz.")
    from auditor.intake.archive_tar import tar_entries

    return tar_entries(path, wanted, limits, packed=kind is ArchiveKind.GZIP)


def _folder_entries(
    path: str, wanted: Callable[[str], bool], limits: ArchiveLimits
) -> Iterator[tuple[str, bytes]]:
    tally = Tally(path, None, limits)
    folders = [""]
    while folders:
        below: list[str] = []
        for name, mode in _listed(path, folders.pop(), tally):
            if stat.S_ISDIR(mode):
                below.append(name)
            elif not stat.S_ISREG(mode):
                refuse(path, name, "a link or a device among the files", "Put the file itself in its place.")
            elif wanted(name):
                yield name, _content(path, name, tally, limits)
        folders.extend(reversed(below))


def _listed(path: str, folder: str, tally: Tally) -> list[tuple[str, int]]:
    """Return name and mode of what a folder holds, sorted; links are not followed."""
    found: list[tuple[str, int]] = []
    with os.scandir(Path(path, folder)) as entries:
        for entry in entries:
            tally.enter()
            if not is_skipped(entry.name):
                name = f"{folder}/{entry.name}" if folder else entry.name
                found.append((name, entry.stat(follow_symlinks=False).st_mode))
    return sorted(found)


def _content(path: str, name: str, tally: Tally, limits: ArchiveLimits) -> bytes:
    with Path(path, name).open("rb") as handle:
        content = handle.read(limits.entry_bytes + 1)
    tally.enter_file(name, len(content))
    tally.count(len(content))
    return content
