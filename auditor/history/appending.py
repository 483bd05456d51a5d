"""A sweep on its way into a store: gathered beside it, then appended in one short transaction.

Cards are gathered in a temporary table of the connection, so memory does not grow with the
estate, no other writer waits for an audit, and what is killed before the end leaves no trace.
"""

import sqlite3
import zlib
from collections.abc import Iterator
from contextlib import contextmanager

from auditor.history.card_result import CardResult, digest_of, to_bytes
from auditor.history.sweep import Sweep, digest_of_sweep
from auditor.history.sweep import to_bytes as head_of

_AT_ONCE = 500

_DRAFT = "CREATE TEMP TABLE draft (card TEXT PRIMARY KEY, digest BLOB NOT NULL, content BLOB) WITHOUT ROWID"


def make_draft(connection: sqlite3.Connection) -> None:
    """Make the temporary table of a sweep's cards, without any."""
    connection.execute("DROP TABLE IF EXISTS temp.draft")
    connection.execute(_DRAFT)


class Draft:
    """The cards of a sweep that is being made, in the store that is open to write.

    Until it is appended, one transaction stays open that reads the store and fills the temporary
    table: it keeps no writer waiting, and a look into the store costs no lock of its own.
    """

    def __init__(self, connection: sqlite3.Connection) -> None:
        """Begin with no card."""
        self._connection = connection
        self._rows: list[tuple[str, bytes, bytes | None]] = []
        make_draft(connection)
        connection.execute("BEGIN")

    def add(self, result: CardResult) -> None:
        """Take one card; no card comes twice."""
        text = to_bytes(result)
        digest = digest_of(text)
        self._rows.append((result.card, digest, None if self._is_stored(digest) else zlib.compress(text)))
        if len(self._rows) >= _AT_ONCE:
            self._put_down()

    def append(self, sweep: Sweep) -> None:
        """Append the sweep with all cards taken: all of it, or nothing."""
        self._put_down()
        self._connection.execute("COMMIT")
        with transaction(self._connection) as connection:
            append_draft(connection, head_of(sweep), sweep)

    def _is_stored(self, digest: bytes) -> bool:
        # Bodies never leave a store: what was there when the draft began is there when it is appended.
        found = self._connection.execute("SELECT 1 FROM body WHERE digest = ?", (digest,))
        return found.fetchone() is not None

    def _put_down(self) -> None:
        self._connection.executemany("INSERT INTO draft VALUES (?, ?, ?)", self._rows)
        self._rows.clear()


@contextmanager
def transaction(connection: sqlite3.Connection) -> Iterator[sqlite3.Connection]:
    """Hold the store for writing; what is done in the block is kept whole, or not at all."""
    connection.execute("BEGIN IMMEDIATE")
    try:
        yield connection
        connection.execute("COMMIT")
    except BaseException:
        if connection.in_transaction:  # SQLite may have rolled back by itself, as on a full disk
            connection.execute("ROLLBACK")
        raise


def append_draft(connection: sqlite3.Connection, head: bytes, sweep: Sweep) -> bytes:
    """Move the cards of the table ``draft`` into the store, under a sweep of this head; return its digest."""
    digest = digest_of_sweep(head, connection.execute("SELECT card, digest FROM draft ORDER BY card"))
    connection.execute(
        "INSERT OR IGNORE INTO body (digest, content) SELECT digest, content FROM draft "
        "WHERE content IS NOT NULL ORDER BY card"
    )
    connection.execute("INSERT OR IGNORE INTO card (id) SELECT card FROM draft ORDER BY card")
    row = (sweep.id, digest, sweep.as_of.isoformat(), head, sweep.origin, sweep.part)
    added = connection.execute(
        "INSERT INTO sweep (id, digest, as_of, head, origin, part) VALUES (?, ?, ?, ?, ?, ?)", row
    )
    connection.execute(
        "INSERT INTO seen (sweep, card, body) SELECT ?, card.number, body.number FROM draft "
        "JOIN card ON card.id = draft.card JOIN body ON body.digest = draft.digest",
        (added.lastrowid,),
    )
    return digest
