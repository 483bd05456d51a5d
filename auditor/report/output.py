"""The one place where reports become files: whole and under their name, or not at all."""

import os
import stat
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from errno import EACCES, EDQUOT, EISDIR, ENAMETOOLONG, ENOENT, ENOSPC, ENOTDIR, EPERM, EROFS
from io import BufferedWriter, FileIO
from pathlib import Path
from secrets import token_hex
from typing import TYPE_CHECKING, BinaryIO

from auditor.errors import OutputError
from auditor.intake.folder import missing_folder

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer

_USUAL_MODE = 0o666
_OWNER_ONLY = 0o600
_BUFFER = 1 << 20

_NO_RIGHT = ("no permission to write here", "Choose another place, or ask for the permission.")
_FULL = ("the disk is full", "Make room, or choose another disk.")
_WORDS = {
    ENOTDIR: ("a part of the path is a file, not a folder", "Correct the path."),
    EISDIR: ("this is a folder", "Add the name of a file to the path."),
    EACCES: _NO_RIGHT,
    EPERM: _NO_RIGHT,
    EROFS: ("the disk can't be written to", "Choose another disk."),
    ENOSPC: _FULL,
    EDQUOT: _FULL,
    ENAMETOOLONG: ("the name is too long", "Choose a shorter one."),
}


@contextmanager
def open_output(path: str | Path, *, owner_only: bool = False) -> Iterator[BinaryIO]:
    """Open a report for writing; it gets its name when the block ends without an error.

    Until then it is a hidden file in the same folder, which goes if the block fails. A report
    that takes the place of another keeps its permissions; a new one is for all whom the mask of
    the process lets in, or for its owner only. A link is followed. What is no ordinary file,
    such as a pipe, is written to directly.

    Raises:
        OutputError: if the report can't be written.
    """
    file = str(path)
    with worded(file):
        target = Path(os.path.realpath(path))
        special = _is_special(target)
        mode = _mode_for(target, file, _OWNER_ONLY if owner_only else _USUAL_MODE)
    if special:
        with _opened(target, os.O_WRONLY, file) as stream:
            yield stream
        return
    part = target.with_name(f".report-{token_hex(8)}.part")
    with _removed_on_failure(part):
        with _opened(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, file, mode=mode) as stream:
            yield stream
            stream.flush()
            with worded(file):
                os.fsync(stream.fileno())
        with worded(file):
            _put_in_place(part, target)


@contextmanager
def worded(file: str) -> Iterator[None]:
    """Turn what the system says of writing a file into words.

    Raises:
        OutputError: for every ``OSError`` of the block.
    """
    try:
        yield
    except OSError as error:
        if error.errno == ENOENT:
            raise OutputError(file, *missing_folder(file)) from error
        said = (error.strerror or "unknown fault").lower()
        words = _WORDS.get(error.errno or 0, (f"can't be written: {said}", "Choose another place."))
        raise OutputError(file, *words) from error


class _Output(FileIO):
    """Words the faults of writing where they happen, so that no other fault is taken for one."""

    def __init__(self, descriptor: int, file: str) -> None:
        super().__init__(descriptor, "wb")
        self._file = file

    def write(self, data: "ReadableBuffer", /) -> int:
        with worded(self._file):
            return super().write(data)

    def close(self) -> None:
        with worded(self._file):
            super().close()


@contextmanager
def _opened(path: Path, flags: int, file: str, *, mode: int = 0) -> Iterator[BinaryIO]:
    with worded(file):
        descriptor = os.open(path, flags, mode)
    with BufferedWriter(_Output(descriptor, file), _BUFFER) as stream:
        yield stream


def _mode_for(target: Path, file: str, new: int) -> int:
    """Return the permissions for a report, and refuse a target that must not be replaced."""
    if target.is_dir():
        raise OutputError(file, *_WORDS[EISDIR])
    if not target.exists():
        return new
    mode = stat.S_IMODE(target.stat().st_mode)
    if not os.access(target, os.W_OK):
        raise OutputError(file, *_NO_RIGHT)
    return mode


def _put_in_place(part: Path, target: Path) -> None:
    if target.exists():
        # The mask of the process may have taken rights away that the old report had.
        part.chmod(stat.S_IMODE(target.stat().st_mode))
    part.replace(target)


@contextmanager
def _removed_on_failure(part: Path) -> Iterator[None]:
    try:
        yield
    except BaseException:
        with suppress(OSError):
            part.unlink()
        raise


def _is_special(target: Path) -> bool:
    return target.exists() and not target.is_file() and not target.is_dir()
