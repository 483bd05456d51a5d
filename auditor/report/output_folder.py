"""The one place where several pages become a folder: all of them under its name, or nothing at all."""

import os
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path
from secrets import token_hex

from auditor.errors import OutputError
from auditor.intake.folder import missing_folder
from auditor.report.output import worded

IsOurs = Callable[[str], bool]
"""Tells by its name whether a file may lie in a folder of this kind."""

_THERE = ("this folder is there, and not empty", "Use --replace, or another folder.")
_FILE = ("this is a file, not a folder", "Choose another name for the folder.")
_HERE = ("you are in this folder", "Name a folder inside it, or go to another.")
_ELSE = "Move that away first, or choose another folder: only what a run wrote is replaced."


def check_folder(path: str, is_ours: IsOurs, *, replace: bool) -> None:
    """Refuse a folder that may not be written; ``write_folder`` checks it again.

    Raises:
        OutputError: if it is a file, the folder that the process is in or one above it, or not empty,
            or if the folder is missing that it is to lie in; with ``replace``, if something lies in
            it that is not ours.
    """
    with worded(path):
        target = Path(os.path.realpath(path))
        if target.exists() and not target.is_dir():
            raise OutputError(path, *_FILE)
        if Path.cwd().is_relative_to(target):
            raise OutputError(path, *_HERE)
        if not target.parent.exists():
            raise OutputError(path, *missing_folder(path))
        there = sorted(target.iterdir()) if target.is_dir() else []
    if there and not replace:
        raise OutputError(path, *_THERE)
    for each in there:
        if each.is_symlink() or not each.is_file() or not is_ours(each.name):
            raise OutputError(str(Path(path, each.name)), "this is none of the pages of a pack", _ELSE)


def write_folder(path: str, files: Mapping[str, bytes], is_ours: IsOurs, *, replace: bool = False) -> None:
    """Write files into a folder that gets its name when all of them are on the disk.

    Until then it is a hidden folder beside it, which goes if anything fails. A folder that is
    replaced is kept until the new one has its name.

    Raises:
        OutputError: if the folder may not be written, or can't be.
    """
    check_folder(path, is_ours, replace=replace)
    target = Path(os.path.realpath(path))
    with worded(path):
        part = target.with_name(f".{token_hex(8)}.part")
        try:
            part.mkdir()
            for name, content in files.items():
                _write(part / name, content)
            _put_in_place(part, target)
        except BaseException:
            shutil.rmtree(part, ignore_errors=True)
            raise


def _write(file: Path, content: bytes) -> None:
    with file.open("xb") as stream:
        stream.write(content)
        stream.flush()
        os.fsync(stream.fileno())


def _put_in_place(part: Path, target: Path) -> None:
    """Rename a folder; no system here exchanges two, so a former one stands aside for that moment."""
    if not target.exists():
        part.rename(target)
        return
    aside = target.with_name(f".{token_hex(8)}.former")
    target.rename(aside)
    try:
        part.rename(target)
    except BaseException:
        aside.rename(target)
        raise
    shutil.rmtree(aside, ignore_errors=True)
