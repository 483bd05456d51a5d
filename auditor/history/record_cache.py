"""What was said of records before, beside the store: for a sweep over what has hardly changed.

A file of its own, for its owner alone: it names records by digests of their whole text, so who
has it could try out guesses at a clear secret in a record of which they know all else. The
store itself holds no such digest. The file may be deleted at any time; a fault in it costs
time and nothing else.
"""

import hashlib
import os
import sqlite3
from array import array
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from pathlib import Path
from typing import Final, NamedTuple

_FORMAT: Final = 2
_BUSY_S: Final = 5.0
_AT_ONCE: Final = 500
_KEPT_RUNS: Final = 12
"""Entries that so many later runs did not ask for are dropped; our own figure."""

_MEMORY_KIB: Final = 65_536
"""So much of the file may stay in memory: records come in another order than entries stand."""

_RUN: Final = "CREATE TABLE run (number INTEGER PRIMARY KEY AUTOINCREMENT)"
_ENTRY: Final = (
    "CREATE TABLE entry (number INTEGER PRIMARY KEY, name BLOB NOT NULL UNIQUE, "
    "plain BLOB NOT NULL, departed BLOB NOT NULL, run INTEGER NOT NULL)"
)
_TABLES: Final = (_RUN, _ENTRY, f"PRAGMA user_version = {_FORMAT}")


class Entry(NamedTuple):
    """What lasts of an assessment, as ``lasting_text`` writes it."""

    number: int
    plain: bytes
    departed: bytes


class RecordCache:
    """Entries by text of record; without a connection it knows nothing and keeps nothing.

    The connection is in a transaction that reads, so that a look into the file costs no lock.
    """

    def __init__(self, connection: sqlite3.Connection | None, judge: bytes) -> None:
        """Begin a run of a judge, by its digest."""
        self._connection = connection
        self._judge = judge
        self._asked: tuple[bytes, bytes] = (b"", b"")
        self._entry: Entry | None = None
        self._used = array("q")
        self._fresh: list[tuple[bytes, bytes, bytes]] = []

    def knows(self, text: bytes, in_work_tree: bool | None) -> bool:  # noqa: FBT001 - the shape of Knowing
        """Tell whether there is an entry for the text of a record that lies there."""
        return self.entry(text, in_work_tree=in_work_tree) is not None

    def entry(self, text: bytes, *, in_work_tree: bool | None) -> Entry | None:
        """Return the entry of a text, or None; one that is found counts as used."""
        if self._asked[0] is not text:
            name = self._name(text, in_work_tree)
            self._asked, self._entry = (text, name), self._found(name)
            if self._entry is not None:
                self._used.append(self._entry.number)
        return self._entry

    def add(self, text: bytes, texts: tuple[bytes, bytes], *, in_work_tree: bool | None) -> None:
        """Take what was said of a text that is not known yet."""
        name = self._asked[1] if self._asked[0] is text else self._name(text, in_work_tree)
        self._fresh.append((name, *texts))
        if len(self._fresh) >= _AT_ONCE:
            self._put_down()

    def keep(self) -> None:
        """Write down what this run used and found; where that fails, it is as if it had not run."""
        self._put_down()
        with suppress(sqlite3.Error):
            if self._connection is not None:
                self._keep(self._connection)

    def _keep(self, connection: sqlite3.Connection) -> None:
        if connection.in_transaction:  # a fault may have ended it
            connection.execute("COMMIT")
        connection.execute("BEGIN IMMEDIATE")
        run = connection.execute("INSERT INTO run DEFAULT VALUES").lastrowid or 0
        used = ((run, number) for number in self._used)
        connection.executemany("UPDATE entry SET run = ? WHERE number = ?", used)
        connection.execute(
            "INSERT OR IGNORE INTO entry (name, plain, departed, run) "
            "SELECT name, plain, departed, ? FROM fresh ORDER BY name",
            (run,),
        )
        connection.execute("DELETE FROM entry WHERE run < ?", (run - _KEPT_RUNS,))
        connection.execute("COMMIT")

    def _put_down(self) -> None:
        with suppress(sqlite3.Error):
            if self._connection is not None:
                self._connection.executemany("INSERT INTO fresh VALUES (?, ?, ?)", self._fresh)
        self._fresh.clear()

    def _name(self, text: bytes, in_work_tree: bool | None) -> bytes:  # noqa: FBT001 - none of a caller's business
        lies = {None: b"?", True: b"+", False: b"-"}[in_work_tree]
        return hashlib.sha256(self._judge + lies + text).digest()

    def _found(self, name: bytes) -> Entry | None:
        with suppress(sqlite3.Error):
            if self._connection is not None:
                found = self._connection.execute(
                    "SELECT number, plain, departed FROM entry WHERE name = ?", (name,)
                )
                row = found.fetchone()
                return Entry(*row) if row else None
        return None


@contextmanager
def open_cache(path: str | None, judge: bytes) -> Iterator[RecordCache]:
    """Open the cache in a file, for a judge by its digest; what can't be used is made anew.

    Without a path, or where nothing can be kept there, the cache is one that knows nothing.
    """
    connection = None if path is None else _connected(path)
    if connection is None:
        yield RecordCache(None, judge)
        return
    with closing(connection):
        yield RecordCache(connection, judge)


def _connected(path: str) -> sqlite3.Connection | None:
    """Return a connection to the cache; one that is damaged, or of another format, is made anew."""
    with suppress(OSError, sqlite3.OperationalError):
        return _opened(path) or _made_anew(path)
    return None


def _made_anew(path: str) -> sqlite3.Connection | None:
    for ending in ("", "-wal", "-shm"):
        Path(f"{path}{ending}").unlink(missing_ok=True)
    return _opened(path)


def _opened(path: str) -> sqlite3.Connection | None:
    os.close(os.open(path, os.O_CREAT | os.O_RDWR, 0o600))
    connection = sqlite3.connect(path, isolation_level=None, timeout=_BUSY_S)
    try:
        if _is_ready(connection):
            return connection
    except sqlite3.OperationalError:
        connection.close()
        raise
    except sqlite3.DatabaseError:
        pass  # no database at all, or a damaged one
    connection.close()
    return None


def _is_ready(connection: sqlite3.Connection) -> bool:
    connection.execute("PRAGMA journal_mode = WAL")
    connection.execute("BEGIN IMMEDIATE")
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    (tables,) = connection.execute("SELECT count(*) FROM sqlite_master").fetchone()
    for statement in () if tables else _TABLES:
        connection.execute(statement)
    connection.execute("COMMIT")
    connection.execute(f"PRAGMA cache_size = -{_MEMORY_KIB}")
    connection.execute("CREATE TEMP TABLE fresh (name BLOB, plain BLOB, departed BLOB)")
    connection.execute("BEGIN")
    return version == _FORMAT or not tables
