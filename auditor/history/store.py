"""A store of sweeps: one SQLite file, opened only if it is ours and of a version we know.

Says in words what SQLite says in codes. Knows no table but that there are some.
"""

import os
import sqlite3
import zlib
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

import orjson

from auditor.errors import AuditorError, Fault, InputError, OutputError
from auditor.history.migration import APPLICATION_ID, VERSION, migrate, version_of
from auditor.intake.folder import missing_folder

BUSY_S: Final = 30.0
"""So long a writer waits for another; a sweep takes the store for well under a second."""

_MODE: Final = 0o600
"""A history tells where an estate is weak: it is for its owner alone, unless they say otherwise."""

_NOT_OURS: Final = "Name a store that witnessmark sweep made; where there is no file yet, it makes one."
_ANOTHER_PLACE: Final = "Check the path and its permissions; the store needs a folder that can be written to."


@contextmanager
def open_to_write(path: str) -> Iterator[sqlite3.Connection]:
    """Open a store to append to it; make it where there is none, and bring an older one up to date.

    Raises:
        InputError: if the file is no store, or one of a newer version.
        OutputError: if it can't be written to.
    """
    _make(path)
    with worded(path), closing(_connected(path, "rw")) as connection:
        _check(connection, path)
        connection.execute("PRAGMA journal_mode = WAL")
        connection.execute("PRAGMA synchronous = FULL")
        connection.execute("PRAGMA foreign_keys = ON")
        connection.execute("PRAGMA cache_size = -65536")
        if version_of(connection) < VERSION:
            migrate(connection)
        yield connection


@contextmanager
def open_to_read(path: str) -> Iterator[sqlite3.Connection]:
    """Open a store to read it; nothing of it is changed. An older one is brought up to date in memory.

    Raises:
        InputError: if there is no such file, or it is no store, or one of a newer version.
    """
    with worded(path):
        if not os.path.isfile(path):  # noqa: PTH113 - never raises
            raise _refused(path, "there is no such file", "Make a store: witnessmark sweep … --store FILE.")
        with closing(_readable(path)) as connection:
            _check(connection, path)
            if version_of(connection) == 0:
                raise _refused(path, "holds no sweep yet", "Make one: witnessmark sweep … --store FILE.")
            if version_of(connection) == VERSION:
                yield connection
                return
            with closing(_connected(":memory:", "memory")) as copy:
                connection.backup(copy)
                migrate(copy)
                yield copy


@contextmanager
def worded(path: str) -> Iterator[None]:
    """Turn what SQLite says, and what no store of ours can hold, into words.

    Raises:
        AuditorError: for every such error.
    """
    try:
        yield
    except sqlite3.Error as error:
        raise _in_words(path, getattr(error, "sqlite_errorname", "")) from error
    except (zlib.error, orjson.JSONDecodeError) as error:
        raise _refused(path, *_DAMAGED) from error


def _make(path: str) -> None:
    """Make an empty file, for its owner alone, where there is none."""
    try:
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, _MODE))
    except FileExistsError:
        pass  # the usual case, or another writer was quicker
    except FileNotFoundError as error:
        raise OutputError(path, *missing_folder(path)) from error
    except (OSError, ValueError) as error:  # a name may hold what no name can
        said = (getattr(error, "strerror", None) or "its name can't be one").lower()
        raise OutputError(path, f"can't be made: {said}", _ANOTHER_PLACE) from error


_WRITING: Final = {
    "SQLITE_FULL": ("the disk is full; nothing was changed", "Make room, and run it again."),
    "SQLITE_READONLY": ("the store can't be written to; nothing was changed", _ANOTHER_PLACE),
    "SQLITE_CANTOPEN": ("can't be opened", _ANOTHER_PLACE),
    "SQLITE_BUSY": (
        f"another program has held the store for {BUSY_S:.0f} s; nothing was changed",
        "Wait for it to end, and run it again.",
    ),
    "SQLITE_IOERR": ("the disk failed; nothing was changed", "Check the disk, and run it again."),
}
_DAMAGED: Final = ("is damaged", "Take it from the last backup; sweeps can be merged from other copies.")
_NO_STORE: Final = ("is no store of sweeps", _NOT_OURS)


def _in_words(path: str, code: str) -> AuditorError:
    if code == "SQLITE_NOTADB":
        return _refused(path, *_NO_STORE)
    if code.startswith("SQLITE_CORRUPT"):
        return _refused(path, *_DAMAGED)
    words = next((words for name, words in _WRITING.items() if code.startswith(name)), None)
    if words is None:
        return _refused(path, f"can't be used as a store ({code or 'unknown fault'})", _NOT_OURS)
    return OutputError(path, *words)


def _refused(path: str, problem: str, remedy: str) -> InputError:
    return InputError([Fault(path, "", 0, 0, problem, remedy)])


def _check(connection: sqlite3.Connection, path: str) -> None:
    """Refuse what is not ours, and what this version of the tool can't know."""
    (application,) = connection.execute("PRAGMA application_id").fetchone()
    version = version_of(connection)
    if application != APPLICATION_ID and (application or version or _holds_tables(connection)):
        raise _refused(path, "is the database of another program", _NOT_OURS)
    if version > VERSION:
        problem = f"its tables are of version {version}; this witnessmark knows versions up to {VERSION}"
        raise _refused(path, problem, "Use a newer witnessmark; nothing was changed.")


def _holds_tables(connection: sqlite3.Connection) -> bool:
    (count,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    return bool(count)


def _readable(path: str) -> sqlite3.Connection:
    """Connect to read. Where not even the log beside the file can be made, the file stands alone.

    The connection could write, so that at its end it takes away the files beside the store that
    even reading makes; it is told not to.
    """
    connection = _connected(path, "rw")
    try:
        connection.execute("PRAGMA query_only = ON")
        connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    except sqlite3.OperationalError:
        connection.close()
        if os.path.exists(f"{path}-wal"):  # noqa: PTH110 - never raises
            raise
        return _connected(path, "ro&immutable=1")
    return connection


def _connected(path: str, mode: str) -> sqlite3.Connection:
    uri = ":memory:" if mode == "memory" else f"{Path(path).absolute().as_uri()}?mode={mode}"
    return sqlite3.connect(uri, uri=True, isolation_level=None, timeout=BUSY_S)
