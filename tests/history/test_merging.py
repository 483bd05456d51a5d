"""Stores merged: every sweep once, in any order, however often; damaged and contradicting ones refused."""

import itertools
import shutil
import sqlite3
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from tests.history.estate import RULES, run, sweep, sweeps_in, telnet_on, write_cards


@pytest.fixture(scope="module")
def stores(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, ...]:
    """Return three stores: two sites, and a copy of the first that went on by itself."""
    folder = tmp_path_factory.mktemp("stores")
    north, south, copy = (folder / f"{name}.db" for name in ("north", "south", "copy"))
    cards = write_cards(folder / "cards", a=telnet_on, b=None)
    sweep(north, cards, "2026-01-01", "--ruleset", RULES)
    shutil.copy(north, copy)
    write_cards(cards, a=None, b=None)
    sweep(north, cards, "2026-04-01", "--ruleset", RULES)
    sweep(copy, cards, "2026-05-01", "--ruleset", RULES, "--part", "row 1")
    sweep(south, write_cards(folder / "others", c=telnet_on), "2026-02-01", "--ruleset", RULES)
    return north, south, copy


def merged(to: Path, stores: Sequence[Path]) -> list[Any]:
    """Merge stores into one and return its sweeps."""
    result = run("history", "merge", *stores, "--to", to)
    assert (result.exit_code, result.stderr) == (0, "")
    return sweeps_in(to)


def report(store: Path) -> str:
    """Return the history of a store as of one day."""
    return run("history", "--store", store, "--as-of", "2026-11-28", "--format", "json").stdout


def test_every_order_gives_the_same_history(tmp_path: Path, stores: tuple[Path, ...]) -> None:
    """Of three stores that share a sweep, in all six orders: four sweeps, one history."""
    orders = list(itertools.permutations(stores))
    found = [merged(tmp_path / f"{number}.db", order) for number, order in enumerate(orders)]
    assert len(found[0]) == 4
    assert all(each == found[0] for each in found)
    assert len({report(tmp_path / f"{number}.db") for number in range(len(orders))}) == 1


def test_merging_again_changes_nothing(tmp_path: Path, stores: tuple[Path, ...]) -> None:
    """Twice the same store, twice the same merge, and a store into itself."""
    to = tmp_path / "all.db"
    once = merged(to, stores)
    assert merged(to, [*stores, *stores]) == once
    assert merged(to, [to]) == once
    north = stores[0]
    before = sweeps_in(north)
    assert merged(tmp_path / "twice.db", [north, north]) == before


def test_merging_step_by_step_is_merging_at_once(tmp_path: Path, stores: tuple[Path, ...]) -> None:
    """First two of them, then the third; or a store of stores."""
    at_once = merged(tmp_path / "once.db", stores)
    merged(tmp_path / "first.db", stores[:2])
    assert merged(tmp_path / "first.db", stores[2:]) == at_once
    merged(tmp_path / "inner.db", stores[1:])
    assert merged(tmp_path / "outer.db", [tmp_path / "inner.db", stores[0]]) == at_once


def test_a_merge_says_what_it_took(tmp_path: Path, stores: tuple[Path, ...]) -> None:
    """New sweeps and known ones, store by store."""
    result = run("history", "merge", *stores, "--to", tmp_path / "all.db")
    assert result.stdout.splitlines() == [
        f"{stores[0]}: 2 sweeps taken",
        f"{stores[1]}: 1 sweep taken",
        f"{stores[2]}: 1 sweep taken, 1 known already",
    ]


def test_sites_of_a_merged_history_are_not_missed_by_each_other(
    tmp_path: Path, stores: tuple[Path, ...]
) -> None:
    """Each store is a series of its own: no card is missing, and the estate is all of them."""
    merged(tmp_path / "all.db", stores[:2])
    text = run("history", "--store", tmp_path / "all.db", "--as-of", "2026-04-02").stdout
    assert "missing" not in text
    assert "3 cards" in text


def _other_head(connection: sqlite3.Connection) -> None:
    connection.execute("UPDATE sweep SET digest = randomblob(32)")


def _other_body(connection: sqlite3.Connection) -> None:
    connection.execute("UPDATE body SET digest = randomblob(32)")


def _other_cards(connection: sqlite3.Connection) -> None:
    connection.execute("DELETE FROM seen WHERE card = 1")


def _broken_body(connection: sqlite3.Connection) -> None:
    connection.execute("UPDATE body SET content = randomblob(40)")


def _broken_head(connection: sqlite3.Connection) -> None:
    connection.execute("UPDATE sweep SET head = '{'")


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (_other_head, "does not hold what it held when it was made"),
        (_other_body, "does not hold what it held when it was made"),
        (_other_cards, "does not hold what it held when it was made"),
        (_broken_body, "is damaged"),
        (_broken_head, "is damaged"),
    ],
)
def test_a_sweep_that_was_changed_is_refused_and_nothing_is_taken(
    tmp_path: Path, stores: tuple[Path, ...], change: Any, said: str
) -> None:
    """Whatever was changed by hand or by a fault, the digest tells; other stores of the merge wait too."""
    bad, to = tmp_path / "bad.db", tmp_path / "all.db"
    shutil.copy(stores[0], bad)
    with sqlite3.connect(bad) as connection:
        change(connection)
    connection.close()
    result = run("history", "merge", stores[1], bad, "--to", to)
    assert result.exit_code == 2
    assert said in result.stderr
    assert sweeps_in(to) == []


def test_two_copies_of_a_sweep_that_differ_are_refused(tmp_path: Path, stores: tuple[Path, ...]) -> None:
    """One id, two contents, each whole by itself: nobody can say which is true."""
    north, to = stores[0], tmp_path / "all.db"
    other = tmp_path / "other.db"
    cards = write_cards(tmp_path / "cards", z=telnet_on)
    sweep(other, cards, "2026-01-01", "--ruleset", RULES)
    (first, _), *_ = sweeps_in(north)
    with sqlite3.connect(other) as connection:
        connection.execute("UPDATE sweep SET id = ?", (first.id,))
        head = connection.execute("SELECT head FROM sweep").fetchone()[0]
        own = sweeps_in(other)[0][0].id
        connection.execute("UPDATE sweep SET head = ?", (head.replace(own.encode(), first.id.encode()),))
    connection.close()
    merged(to, [north])
    result = run("history", "merge", other, "--to", to)
    assert result.exit_code == 2
    assert "is in the target with other contents" in result.stderr
    assert len(sweeps_in(to)) == 2


def test_a_merge_of_what_is_no_store_makes_none(tmp_path: Path, stores: tuple[Path, ...]) -> None:
    """Nothing was taken, so nothing is left behind."""
    to = tmp_path / "all.db"
    assert run("history", "merge", stores[0], tmp_path / "nowhere.db", "--to", to).exit_code == 2
    assert list(tmp_path.iterdir()) == []


def test_what_is_no_store_is_not_merged(tmp_path: Path, stores: tuple[Path, ...]) -> None:
    """A missing file, a text: the target stays as it was."""
    to = tmp_path / "all.db"
    merged(to, stores[:1])
    text = tmp_path / "text.db"
    text.write_text("no store\n" * 100, "utf-8")
    for bad in (text, tmp_path / "nowhere.db"):
        result = run("history", "merge", stores[1], bad, "--to", to)
        assert result.exit_code == 2
        assert result.stderr.startswith(f"{bad}: ")
        assert len(sweeps_in(to)) == 2
