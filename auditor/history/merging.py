"""Stores into one: each sweep once, whichever copy it comes from, and only if it is whole.

A sweep is known by its random id and named by the digest of all that it says. So merging twice,
or in another order, ends with the same sweeps.
"""

import sqlite3
import zlib
from collections.abc import Iterator, Sequence

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError
from auditor.history.appending import append_draft, make_draft, transaction
from auditor.history.card_result import digest_of
from auditor.history.store import open_to_read
from auditor.history.sweep import Sweep
from auditor.history.sweep import from_bytes as sweep_of


@dataclass(frozen=True, slots=True)
class Merged:
    """What came of one store: sweeps that were new to the target, and those it held already."""

    store: str
    taken: int
    known: int


def merge(stores: Sequence[str], target: sqlite3.Connection) -> tuple[Merged, ...]:
    """Take every sweep of some stores into one that is open to write: all of them, or none.

    Raises:
        InputError: if a store can't be read, or holds a sweep that is damaged, or that the
            target has with other contents.
    """
    with transaction(target):
        return tuple(_merged(store, target) for store in stores)


def refuse_what_is_no_store(stores: Sequence[str]) -> None:
    """Refuse stores that can't be read, before anything is made of them.

    Raises:
        InputError: for the first of them.
    """
    for store in stores:
        with open_to_read(store):
            pass


def _merged(store: str, target: sqlite3.Connection) -> Merged:
    taken = known = 0
    with open_to_read(store) as source:
        for held in _held(source):
            if _is_known(held, store, target):
                known += 1
            else:
                taken += 1
                _take(held, store, source, target)
    return Merged(store, taken, known)


@dataclass(frozen=True, slots=True)
class _Held:
    """A sweep as a store holds it."""

    number: int
    digest: bytes
    head: bytes
    sweep: Sweep


def _held(source: sqlite3.Connection) -> Iterator[_Held]:
    rows = source.execute("SELECT number, digest, head FROM sweep ORDER BY as_of, id").fetchall()
    for number, digest, head in rows:
        yield _Held(number, digest, head, sweep_of(head))


def _is_known(held: _Held, store: str, target: sqlite3.Connection) -> bool:
    row = target.execute("SELECT digest FROM sweep WHERE id = ?", (held.sweep.id,)).fetchone()
    if row is not None and row[0] != held.digest:
        remedy = "One of the copies was changed: merge the store that the sweep was made in."
        raise _refused(store, held, "is in the target with other contents", remedy)
    return row is not None


def _take(held: _Held, store: str, source: sqlite3.Connection, target: sqlite3.Connection) -> None:
    make_draft(target)
    rows = source.execute(
        "SELECT card.id, body.digest, body.content FROM seen JOIN card ON card.number = seen.card "
        "JOIN body ON body.number = seen.body WHERE seen.sweep = ?",
        (held.number,),
    )
    target.executemany("INSERT INTO draft VALUES (?, ?, ?)", _checked(rows, store, held))
    if append_draft(target, held.head, held.sweep) != held.digest:
        raise _refused(store, held, "does not hold what it held when it was made", _OTHER_COPY)


def _checked(
    rows: Iterator[tuple[str, bytes, bytes]], store: str, held: _Held
) -> Iterator[tuple[str, bytes, bytes]]:
    for card_id, digest, content in rows:
        if digest_of(zlib.decompress(content)) != digest:
            raise _refused(store, held, "does not hold what it held when it was made", _OTHER_COPY)
        yield card_id, digest, content


_OTHER_COPY = "The store is damaged, or was changed by hand: merge another copy of it."


def _refused(store: str, held: _Held, problem: str, remedy: str) -> InputError:
    moment = f"{held.sweep.as_of:%Y-%m-%d %H:%M} UTC"
    return InputError([Fault(store, "", 0, 0, f"the sweep of {moment} ({held.sweep.id}) {problem}", remedy)])
