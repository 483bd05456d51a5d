"""A sweep that is killed leaves the store readable, with whole sweeps only; two writers both land."""

import os
import random
import signal
import sqlite3
import time
from pathlib import Path

import pytest

from auditor.history.merging import merge
from auditor.history.store import open_to_write
from tests.history.estate import RULES, sweep, sweeps_in, telnet_on, write_cards

KILLS = 100
CARDS = {"a": None, "b": telnet_on, "c": None, "d": telnet_on}


def child(work: "os.PathLike[str]", store: Path, day: str, sweeps: int) -> int:
    """Start a process of its own that sweeps so often; return its number."""
    started = os.fork()
    if started:
        return started
    try:
        for _ in range(sweeps):
            sweep(store, Path(work), day, "--ruleset", RULES)
    finally:
        os._exit(0)


def whole(store: Path, other: Path) -> int:
    """Return how many sweeps are in a store, having checked each to the last byte."""
    with sqlite3.connect(store) as connection:
        assert connection.execute("PRAGMA integrity_check").fetchone() == ("ok",)
    connection.close()
    with open_to_write(str(other)) as target:
        merge([str(store)], target)
    found = sweeps_in(store)
    assert all(set(cards) == set(CARDS) for _, cards in found)
    return len(found)


@pytest.mark.skipif(not hasattr(os, "fork"), reason="killing needs processes of our own")
def test_a_sweep_killed_at_any_moment_leaves_whole_sweeps_only(tmp_path: Path) -> None:
    """Killed at 100 random moments: always readable, never part of a sweep, and the next one lands."""
    work, store = write_cards(tmp_path / "cards", **CARDS), tmp_path / "history.db"
    sweep(store, work, "2026-01-01", "--ruleset", RULES)
    begin = time.monotonic()
    sweep(store, work, "2026-01-01", "--ruleset", RULES)
    once = time.monotonic() - begin
    dice = random.Random(7)  # noqa: S311 - moments to kill at
    before = 2
    for number in range(KILLS):
        started = child(work, store, "2026-01-02", sweeps=1000)
        time.sleep(dice.uniform(0, 1.5) * once)
        os.kill(started, signal.SIGKILL)
        os.waitpid(started, 0)
        if not number % 10:
            found = whole(store, tmp_path / f"copy-{number}.db")
            assert found >= before
            once *= 1 if found > before else 1.5  # nothing landed: the machine is busy, so kill later
            before = found
    landed = whole(store, tmp_path / "copy.db")
    assert landed > 2, "no sweep ended before it was killed: kill later"
    assert sweep(store, work, "2026-01-03", "--ruleset", RULES).exit_code == 1
    assert whole(store, tmp_path / "last.db") == landed + 1


@pytest.mark.skipif(not hasattr(os, "fork"), reason="two writers need processes of our own")
def test_two_writers_at_once_both_land(tmp_path: Path) -> None:
    """From no store at all, two processes make it and append five sweeps each."""
    work, store = write_cards(tmp_path / "cards", **CARDS), tmp_path / "history.db"
    started = [child(work, store, f"2026-01-0{number}", sweeps=5) for number in (1, 2)]
    for each in started:
        assert os.waitpid(each, 0)[1] == 0
    assert whole(store, tmp_path / "copy.db") == 10
