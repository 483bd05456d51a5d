"""The tables of a store, version by version: how each is made of the one before.

A migration that was shipped never changes: stores of its version are out there.
"""

import sqlite3
from collections.abc import Callable, Sequence
from secrets import token_hex
from typing import Final

import orjson

APPLICATION_ID: Final = 0x57_4D_48_31
"""Marks a SQLite file as a store of ours: the letters WMH1. Source: SQLite, PRAGMA application_id."""

_FIRST: Final = """
CREATE TABLE store (id TEXT NOT NULL);
CREATE TABLE body (number INTEGER PRIMARY KEY, digest BLOB NOT NULL UNIQUE, content BLOB NOT NULL);
CREATE TABLE card (number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE);
CREATE TABLE sweep (
    number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, digest BLOB NOT NULL,
    as_of TEXT NOT NULL, head BLOB NOT NULL
);
CREATE TABLE seen (
    sweep INTEGER NOT NULL REFERENCES sweep, card INTEGER NOT NULL REFERENCES card,
    body INTEGER NOT NULL REFERENCES body, PRIMARY KEY (sweep, card)
) WITHOUT ROWID;
"""
"""``body`` holds bytes by their digest: results of cards. ``seen`` says which result a card had."""


def _make(connection: sqlite3.Connection) -> None:
    for statement in _FIRST.split(";"):
        connection.execute(statement)
    connection.execute("INSERT INTO store VALUES (?)", (token_hex(16),))
    connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")


def _name_series(connection: sqlite3.Connection) -> None:
    """Give each sweep its series as columns, so that a list of sweeps reads no heads."""
    for column in ("origin", "part"):
        connection.execute(f"ALTER TABLE sweep ADD COLUMN {column} TEXT NOT NULL DEFAULT ''")
    heads = connection.execute("SELECT number, head FROM sweep").fetchall()
    for number, head in heads:
        document = orjson.loads(head)
        series = (document["origin"], document["part"], number)
        connection.execute("UPDATE sweep SET origin = ?, part = ? WHERE number = ?", series)


MIGRATIONS: Final[Sequence[Callable[[sqlite3.Connection], None]]] = (_make, _name_series)
"""The migration at place n makes version n + 1 of version n; version 0 is an empty file."""

VERSION: Final = len(MIGRATIONS)
"""The version of the tables that this code reads and writes."""


def version_of(connection: sqlite3.Connection) -> int:
    """Return the version of the tables of a store; 0 for an empty file."""
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    return int(version)


def migrate(connection: sqlite3.Connection) -> None:
    """Bring a store to ``VERSION``, in one transaction: it ends with all of the change, or none.

    Another program that does the same at the same time waits, and then finds it done.
    """
    connection.execute("BEGIN IMMEDIATE")
    try:
        for number in range(version_of(connection), VERSION):
            MIGRATIONS[number](connection)
        connection.execute(f"PRAGMA user_version = {VERSION}")
        connection.execute("COMMIT")
    except BaseException:
        connection.execute("ROLLBACK")
        raise
