"""Sweeps out of a store: heads in the order of time, and the results of cards, each read once."""

import sqlite3
import zlib
from collections.abc import Iterator
from functools import lru_cache

from auditor.dataclass import dataclass
from auditor.history.card_result import CardResult
from auditor.history.card_result import from_bytes as result_of
from auditor.history.sweep import Sweep, by_time
from auditor.history.sweep import from_bytes as sweep_of

_KEPT_RESULTS = 50_000


@dataclass(frozen=True, slots=True)
class StoredSweep:
    """A sweep with its number in one store, which says nothing outside of it."""

    number: int
    sweep: Sweep


def store_id(connection: sqlite3.Connection) -> str:
    """Return the id of a store: random, made with it."""
    (found,) = connection.execute("SELECT id FROM store").fetchone()
    return str(found)


def stored_sweeps(connection: sqlite3.Connection) -> tuple[StoredSweep, ...]:
    """Return all sweeps, the earliest first."""
    rows = connection.execute("SELECT number, head FROM sweep")
    return tuple(sorted((StoredSweep(number, sweep_of(head)) for number, head in rows), key=_by_time))


def bodies_of(connection: sqlite3.Connection, number: int) -> Iterator[tuple[str, int]]:
    """Yield, for each card of a sweep by card id, the id and the number of its result."""
    rows = connection.execute(
        "SELECT card.id, seen.body FROM seen JOIN card ON card.number = seen.card "
        "WHERE sweep = ? ORDER BY card.id",
        (number,),
    )
    yield from rows.fetchall()


class Results:
    """The results of cards in a store. Those that a card keeps over sweeps are one object."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        """Read nothing yet."""
        self._connection = connection
        self.read = lru_cache(maxsize=_KEPT_RESULTS)(self._read)

    def of(self, number: int) -> Iterator[CardResult]:
        """Yield the result of each card of a sweep, by card id."""
        for _, body in bodies_of(self._connection, number):
            yield self.read(body)

    def _read(self, body: int) -> CardResult:
        (content,) = self._connection.execute("SELECT content FROM body WHERE number = ?", (body,)).fetchone()
        return result_of(zlib.decompress(content))


def _by_time(stored: StoredSweep) -> tuple[object, ...]:
    return by_time(stored.sweep)
