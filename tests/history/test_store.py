"""The store: made, opened, brought up to date, and refused in one sentence that says what to do."""

import os
import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from auditor.errors import OutputError
from auditor.history.migration import APPLICATION_ID, VERSION
from auditor.history.store import open_to_write
from tests.history.estate import RULES, run, sweep, sweeps_in, telnet_on, write_cards

# The tables as version 1 of the store had them. They stand here for good: such stores are out there.
FIRST = (
    "CREATE TABLE store (id TEXT NOT NULL)",
    "CREATE TABLE body (number INTEGER PRIMARY KEY, digest BLOB NOT NULL UNIQUE, content BLOB NOT NULL)",
    "CREATE TABLE card (number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE)",
    (
        "CREATE TABLE sweep (number INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, digest BLOB NOT NULL, "
        "as_of TEXT NOT NULL, head BLOB NOT NULL)"
    ),
    (
        "CREATE TABLE seen (sweep INTEGER NOT NULL REFERENCES sweep, card INTEGER NOT NULL REFERENCES card, "
        "body INTEGER NOT NULL REFERENCES body, PRIMARY KEY (sweep, card)) WITHOUT ROWID"
    ),
    "PRAGMA application_id = 1464682545",
    "PRAGMA user_version = 1",
)
COLUMNS_OF_FIRST = {
    "store": "id",
    "body": "number, digest, content",
    "card": "number, id",
    "sweep": "number, id, digest, as_of, head",
    "seen": "sweep, card, body",
}


@pytest.fixture
def cards(tmp_path: Path) -> Path:
    """Return a folder with two cards."""
    return write_cards(tmp_path / "cards", a=None, b=telnet_on)


@pytest.fixture
def store(tmp_path: Path, cards: Path) -> Path:
    """Return a store with one sweep."""
    file = tmp_path / "history.db"
    assert sweep(file, cards, "2026-01-01", "--ruleset", RULES).exit_code == 1
    return file


def as_first_version(store: Path, older: Path) -> Path:
    """Copy a store into the tables of version 1."""
    with sqlite3.connect(older) as connection:
        for statement in FIRST:
            connection.execute(statement)
        connection.execute("ATTACH ? AS now", (str(store),))
        for table, columns in COLUMNS_OF_FIRST.items():
            connection.execute(f"INSERT INTO {table} SELECT {columns} FROM now.{table}")  # noqa: S608 - names of ours
    connection.close()
    return older


def version_of_file(store: Path) -> int:
    """Return the version that a file says it has."""
    connection = sqlite3.connect(store)
    (version,) = connection.execute("PRAGMA user_version").fetchone()
    connection.close()
    return int(version)


def test_a_store_is_ours_by_its_mark_and_for_its_owner_alone(store: Path) -> None:
    """The application id and the version stand in the file; others can't read where an estate is weak."""
    connection = sqlite3.connect(store)
    assert connection.execute("PRAGMA application_id").fetchone() == (APPLICATION_ID,)
    assert connection.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    connection.close()
    assert version_of_file(store) == VERSION
    assert store.stat().st_mode & 0o077 == 0
    assert Path(f"{store}-cache").stat().st_mode & 0o077 == 0


def test_an_older_store_is_brought_up_to_date_by_the_next_sweep(
    store: Path, cards: Path, tmp_path: Path
) -> None:
    """It keeps every sweep, and takes the new one."""
    older = as_first_version(store, tmp_path / "older.db")
    before = sweeps_in(store)
    assert sweep(older, cards, "2026-04-01", "--ruleset", RULES).exit_code == 1
    assert version_of_file(older) == VERSION
    after = sweeps_in(older)
    assert after[:1] == before
    assert len(after) == 2
    assert after[0][0].series == after[1][0].series


def test_an_older_store_is_read_without_changing_it(store: Path, tmp_path: Path) -> None:
    """Whoever only reads writes nothing: it is brought up to date in memory."""
    older = as_first_version(store, tmp_path / "older.db")
    before = older.read_bytes()
    assert sweeps_in(older) == sweeps_in(store)
    assert older.read_bytes() == before


def test_a_newer_store_is_refused_with_what_to_do(store: Path, cards: Path) -> None:
    """Its tables can't be known here; nothing of it is changed."""
    connection = sqlite3.connect(store)
    connection.execute(f"PRAGMA user_version = {VERSION + 1}")
    connection.close()
    before = store.read_bytes()
    result = sweep(store, cards, "2026-04-01", "--ruleset", RULES)
    assert result.exit_code == 2
    assert result.stderr == (
        f"{store}: its tables are of version {VERSION + 1}; this witnessmark knows versions up to {VERSION}\n"
        "  Use a newer witnessmark; nothing was changed.\n"
    )
    assert store.read_bytes() == before


def _text(file: Path) -> None:
    file.write_text("a text of some length, and no database\n" * 50, "utf-8")


def _other(file: Path) -> None:
    with sqlite3.connect(file) as connection:
        connection.execute("CREATE TABLE pets (name TEXT)")
    connection.close()


def _marked(file: Path) -> None:
    with sqlite3.connect(file) as connection:
        connection.execute("PRAGMA application_id = 42")
        connection.execute("CREATE TABLE pets (name TEXT)")
    connection.close()


def _folder(file: Path) -> None:
    file.mkdir()


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (_text, "is no store of sweeps"),
        (_other, "is the database of another program"),
        (_marked, "is the database of another program"),
        (_folder, "can't be opened"),
    ],
)
def test_what_is_no_store_of_ours_is_refused_and_left_alone(
    tmp_path: Path, cards: Path, make: Callable[[Path], None], said: str
) -> None:
    """A text, another program's database, a folder: two lines, and not a byte of it changed."""
    file = tmp_path / "other"
    make(file)
    before = file.read_bytes() if file.is_file() else b""
    result = sweep(file, cards, "2026-01-01", "--ruleset", RULES)
    assert result.exit_code == 2
    assert result.stderr.startswith(f"{file}: {said}\n  ")
    assert len(result.stderr.splitlines()) == 2
    assert (file.read_bytes() if file.is_file() else b"") == before


def test_a_damaged_store_is_told_as_one(store: Path, cards: Path) -> None:
    """No traceback, and what to do."""
    content = bytearray(store.read_bytes())
    content[200:] = b"\x5a" * (len(content) - 200)
    store.write_bytes(content)
    result = sweep(store, cards, "2026-04-01", "--ruleset", RULES)
    assert result.exit_code == 2
    assert result.stderr.startswith(f"{store}: is damaged\n  Take it from the last backup")


def test_a_store_that_can_not_be_made_is_told_as_one(tmp_path: Path, cards: Path) -> None:
    """The folder is missing."""
    result = sweep(tmp_path / "nowhere" / "history.db", cards, "2026-01-01", "--ruleset", RULES)
    assert result.exit_code == 2
    assert f"there is no folder {tmp_path / 'nowhere'}" in result.stderr


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write everywhere")
def test_a_store_that_can_not_be_written_to_is_told_as_one(store: Path, cards: Path) -> None:
    """Permissions were taken away."""
    store.chmod(0o400)
    result = sweep(store, cards, "2026-04-01", "--ruleset", RULES)
    assert result.exit_code == 2
    assert "the store can't be written to; nothing was changed" in result.stderr


@pytest.mark.parametrize(
    ("code", "said"),
    [
        ("PRAGMA query_only = ON", "the store can't be written to; nothing was changed"),
        ("PRAGMA max_page_count = 1", "the disk is full; nothing was changed"),
    ],
)
def test_a_store_that_takes_nothing_more_is_told_in_one_sentence(store: Path, code: str, said: str) -> None:
    """A full disk and one that can't be written to, as SQLite reports them."""
    with pytest.raises(OutputError, match=said):
        _write_much(store, code)
    assert len(sweeps_in(store)) == 1


def _write_much(store: Path, code: str) -> None:
    with open_to_write(str(store)) as connection:
        connection.execute(code)
        connection.execute("CREATE TABLE more AS SELECT randomblob(99999) AS octets")


def test_a_store_that_another_program_holds_is_told_as_one(
    store: Path, cards: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """After the wait that is told."""
    monkeypatch.setattr("auditor.history.store.BUSY_S", 0.05)
    other = sqlite3.connect(store, isolation_level=None)
    other.execute("BEGIN IMMEDIATE")
    result = sweep(store, cards, "2026-04-01", "--ruleset", RULES)
    other.close()
    assert result.exit_code == 2
    assert "another program has held the store for" in result.stderr
    assert len(sweeps_in(store)) == 1


def test_a_store_on_a_disk_that_can_not_be_written_to_can_be_read(store: Path, tmp_path: Path) -> None:
    """A copy on a read-only medium has no log beside it, and none can be made."""
    folder = tmp_path / "medium"
    folder.mkdir()
    copy = Path(shutil.copy(store, folder))
    copy.chmod(0o400)
    folder.chmod(0o500)
    try:
        assert sweeps_in(copy) == sweeps_in(store)
        assert sorted(each.name for each in folder.iterdir()) == ["history.db"] or os.geteuid() == 0
    finally:
        folder.chmod(0o700)


def test_a_sweep_of_nothing_appends_nothing(tmp_path: Path) -> None:
    """An empty folder: exit code 2, and no sweep that would make every card missing."""
    empty, store = tmp_path / "empty", tmp_path / "history.db"
    empty.mkdir()
    result = sweep(store, empty, "2026-01-01", "--ruleset", RULES)
    assert result.exit_code == 2
    assert "nothing was appended" in result.stdout
    assert sorted(each.name for each in tmp_path.iterdir()) == ["empty"]


def test_a_sweep_of_nothing_leaves_a_store_as_it_was(store: Path, cards: Path, tmp_path: Path) -> None:
    """Not even the cache is made that was not there; a report that was asked for is written."""
    for each in cards.iterdir():
        each.write_text("{", "utf-8")
    before = {each.name: each.read_bytes() for each in store.parent.iterdir() if each.is_file()}
    Path(f"{store}-cache").unlink()
    del before[f"{store.name}-cache"]
    report = tmp_path / "report.json"
    result = sweep(store, cards, "2026-05-01", "--ruleset", RULES, "--output", str(report))
    assert result.exit_code == 2
    assert "Nothing audited" in report.read_text("utf-8")
    report.unlink()
    assert {each.name: each.read_bytes() for each in store.parent.iterdir() if each.is_file()} == before


def test_the_store_never_takes_the_place_of_a_record(cards: Path) -> None:
    """Named as the store, a record is refused before anything is opened."""
    record = cards / "a.json"
    before = record.read_bytes()
    result = run("sweep", cards, "--store", record)
    assert result.exit_code == 2
    assert "this is one of the inputs" in result.stderr
    assert record.read_bytes() == before
