"""The record files below a folder, in sorted order. Opens folders, no files."""

import os
from collections.abc import Iterator
from pathlib import Path

from auditor.errors import Fault

RECORD_ENDINGS = (".json", ".ndjson", ".json.gz", ".ndjson.gz")
SCHEMA_ENDINGS = (".schema.json", ".schema.json.gz")


def record_files(folder: str) -> Iterator[str | Fault]:
    """Yield the path of every record file below a folder, or the fault of a folder.

    Depth first, names sorted by code point. Hidden names (a leading full stop) and JSON
    Schemas are skipped, as is every other ending. Links are followed, each real folder once,
    so a loop of links ends.
    """
    seen: set[tuple[int, int]] = set()
    found = False
    stack: list[tuple[str, Iterator[str]]] = []
    pending: str | None = folder
    while pending is not None:
        if is_folder(pending):
            fault = _enter(pending, seen, stack)
            if fault is not None:
                yield fault
        else:
            found = True
            yield pending
        pending = _next_path(stack)
    if not found:
        yield Fault(shown(folder), "", 0, 0, "no records below this folder", _NO_RECORDS)


_NO_RECORDS = "Give a folder that holds files named *.json or *.ndjson, or these with .gz."


def is_without_records(path: str) -> bool:
    """Tell whether a path is a folder that can be read and holds no record file."""
    first = next(record_files(path)) if is_folder(path) else ""
    return isinstance(first, Fault) and is_empty_folder(first)


def is_empty_folder(fault: Fault) -> bool:
    """Tell whether a fault is that of a folder without record files, and no fault of a record."""
    return fault.remedy == _NO_RECORDS


def _enter(folder: str, seen: set[tuple[int, int]], stack: list[tuple[str, Iterator[str]]]) -> Fault | None:
    try:
        status = Path(folder).stat()
        if (status.st_dev, status.st_ino) not in seen:
            seen.add((status.st_dev, status.st_ino))
            with os.scandir(folder) as entries:
                stack.append((folder, iter(sorted(entry.name for entry in entries))))
    except OSError as error:
        return unreadable(folder, error)
    return None


def _next_path(stack: list[tuple[str, Iterator[str]]]) -> str | None:
    while stack:
        folder, names = stack[-1]
        for name in names:
            path = str(Path(folder, name))
            if not name.startswith(".") and (holds_records(name) or is_folder(path)):
                return path
        stack.pop()
    return None


def holds_records(name: str) -> bool:
    """Tell whether a file of that name is taken for a file of records."""
    low = name.lower()
    return low.endswith(RECORD_ENDINGS) and not low.endswith(SCHEMA_ENDINGS)


def is_folder(path: str) -> bool:
    """Tell whether a path is a folder; what can't even be looked at is none."""
    return os.path.isdir(path)  # noqa: PTH112 - Path.is_dir raises where a parent is shut


def unreadable(path: str, error: OSError | ValueError) -> Fault:
    """Word why a file or folder could not be read."""
    reason = (getattr(error, "strerror", None) or str(error)).lower()
    return Fault(shown(path), "", 0, 0, f"can't be read: {reason}", "Check the path and its permissions.")


def missing_folder(path: str | Path) -> tuple[str, str]:
    """Word that the folder is missing in which a path was to be written: what is wrong, what to do."""
    folder = Path(path).parent
    if folder.exists():  # the path is a link to nowhere
        folder = Path(os.path.realpath(path)).parent
    return f"there is no folder {shown(str(folder))}", "Make the folder first, or correct the path."


def shown(path: str) -> str:
    """Return a path as text that every output can hold, whatever its bytes are."""
    return os.fsencode(path).decode("utf-8", "backslashreplace")
