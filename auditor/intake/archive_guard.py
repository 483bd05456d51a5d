"""What may be taken from an archive: names, kinds, counts and sizes. Reads nothing itself.

Nothing is ever unpacked to disk, so a hostile name could do no harm here; it is refused all the
same, because an archive that holds one was not made by honest means.
"""

import re
from typing import NoReturn

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError
from auditor.intake.folder import shown
from auditor.record.limits import DEFAULT as RECORD_LIMITS

_MEBIBYTE = 1024 * 1024
_DRIVE = re.compile(r"[A-Za-z]:")
_FEWER = "Give only the files of one card's capture."
_AGAIN = "Make the archive again from the captured files alone."


@dataclass(frozen=True, slots=True)
class ArchiveLimits:
    """What one folder or archive may cost.

    ``ratio`` is bytes unpacked to bytes packed, looked at from ``free_bytes`` on. The figures
    are our own: a capture of a card is a few hundred files and a few megabytes, and JSON
    seldom packs better than 30 to 1, where deflate can reach 1032 to 1.
    """

    entries: int = 20_000
    entry_bytes: int = RECORD_LIMITS.record_bytes
    total_bytes: int = 256 * _MEBIBYTE
    ratio: int = 200
    free_bytes: int = _MEBIBYTE


DEFAULT = ArchiveLimits()


def refuse(path: str, name: str, problem: str, remedy: str = _AGAIN) -> NoReturn:
    """Raise the error of an archive, or of one entry in it.

    Raises:
        InputError: always.
    """
    file = place(path, name) if name else shown(path)
    raise InputError([Fault(file, "", 0, 0, problem, remedy)])


def place(path: str, name: str) -> str:
    """Return how an entry is named in messages and origins: the archive, then the name inside."""
    return f"{shown(path).rstrip('/')}/{printable(name)}"


def printable(name: str) -> str:
    """Return the name of an entry as text that every output can hold, whatever its bytes are."""
    return name.encode("utf-8", "surrogateescape").decode("utf-8", "backslashreplace")


class Tally:
    """Counts what an archive yields and refuses too much of it."""

    def __init__(self, path: str, packed_bytes: int | None, limits: ArchiveLimits) -> None:
        """Begin at nothing; ``packed_bytes`` is the archive's size, None if nothing is packed."""
        self._path, self._packed, self._limits = path, packed_bytes, limits
        self._names: set[str] = set()
        self._entries = self._bytes = 0

    def enter(self) -> None:
        """Count one entry of any kind.

        Raises:
            InputError: for one too many.
        """
        self._entries += 1
        if self._entries > self._limits.entries:
            refuse(self._path, "", f"more than {self._limits.entries} entries", _FEWER)

    def enter_file(self, name: str, size: int) -> None:
        """Note an ordinary file of a plain name.

        Raises:
            InputError: if it stands there twice, or is too large.
        """
        if name in self._names:
            refuse(self._path, name, "this name stands twice in the archive")
        self._names.add(name)
        if size > self._limits.entry_bytes:
            most = self._limits.entry_bytes
            refuse(self._path, name, f"larger than {most} bytes, the most for one file", _FEWER)

    def count(self, size: int) -> None:
        """Count bytes that were unpacked.

        Raises:
            InputError: if they are too many, or too many for the size of the archive.
        """
        self._bytes += size
        if self._bytes > self._limits.total_bytes:
            refuse(self._path, "", f"more than {self._limits.total_bytes} bytes unpacked", _FEWER)
        packed = self._packed
        if packed is not None and self._bytes > max(packed * self._limits.ratio, self._limits.free_bytes):
            refuse(self._path, "", f"unpacks to more than {self._limits.ratio} times its size")


def plain_name(path: str, name: str) -> str:
    """Return the name of an archive's entry, relative and with forward slashes.

    Raises:
        InputError: for an absolute name, or one with ``..`` or a NUL in it.
    """
    slashed = name.replace("\\", "/")
    if slashed.startswith("/") or _DRIVE.match(slashed):
        refuse(path, name, "an absolute path in an archive")
    parts = [part for part in slashed.split("/") if part not in ("", ".")]
    if ".." in parts:
        refuse(path, name, "a path with .. in an archive")
    if "\0" in slashed:
        refuse(path, name, "a name with a NUL in an archive")
    return "/".join(parts)


def is_skipped(name: str) -> bool:
    """Tell whether a plain name is one that systems add by themselves: hidden, or a resource fork."""
    return any(part.startswith(".") or part == "__MACOSX" for part in name.split("/"))
