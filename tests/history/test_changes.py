"""What a sweep changed since the one before, held against counting every finding of every card."""

import random
import sqlite3
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from auditor.history.appending import Draft
from auditor.history.card_result import CardResult
from auditor.history.changes import Changes, changes_of
from auditor.history.fate import Fate, Sighting
from auditor.history.store import open_to_write
from auditor.history.sweep import Sweep
from tests.history.by_hand import result, sweep_on

FOUND = ("", "a", "a b", "b:m", "a b:m b:n c", "d")
Cards = dict[str, CardResult]


def cards_of(dice: random.Random) -> Cards:
    """Return some cards of an estate with some findings, and now and then a result that nobody knows."""
    names = dice.sample("stuvwxyz", dice.randint(1, 8))
    return {name: result(name, dice.choice(FOUND), undecided=dice.choice(("", "", "b"))) for name in names}


def counted(before: Cards, now: Cards, sweep: Sweep) -> tuple[int, Counter[Fate]]:
    """Count what is new, and what has become of what was there, on the cards of both sweeps."""
    new, fates = 0, Counter[Fate]()
    for name in before.keys() & now.keys():
        known = {finding.key for finding in before[name].findings}
        new += len({finding.key for finding in now[name].findings} - known)
        fates.update(Sighting(now[name], sweep.rules).fate_of(key) for key in known)
    return new, fates


def estates(dice: random.Random) -> Iterator[tuple[Cards, tuple[str, ...]]]:
    """Yield an estate as five sweeps see it, and the rules that judge: some cards stay as they were."""
    before: Cards = {}
    for _ in range(5):
        rules = tuple(dice.choice(("abcd", "abd")))
        stay = before if dice.random() < 1 / 2 else {}
        cards = {**stay, **cards_of(dice)}
        before = {
            name: each for name, each in cards.items() if {one.rule for one in each.findings} <= {*rules}
        }
        yield before, rules


def append(connection: sqlite3.Connection, sweep: Sweep, cards: Cards) -> Changes | None:
    """Append a sweep to a store; return what it changed."""
    draft = Draft(connection)
    for each in cards.values():
        draft.add(each)
    draft.append(sweep)
    return changes_of(connection, sweep, sum(len(each.findings) for each in cards.values()))


@pytest.mark.parametrize("seed", range(12))
def test_reading_only_what_differs_counts_the_same(tmp_path: Path, seed: int) -> None:
    """Cards come, go, change and stay, and so do rules; a sweep of another part in between is none of it."""
    dice = random.Random(seed)  # noqa: S311 - made-up data
    before: Cards = {}
    with open_to_write(str(tmp_path / "history.db")) as connection:
        for number, (cards, rules) in enumerate(estates(dice)):
            sweep = sweep_on(number, rules=rules)
            changes = append(connection, sweep, cards)
            append(connection, sweep_on(number + 0.5, part="north"), cards_of(dice))
            assert (changes is None) == (number == 0)
            if changes is not None:
                assert (changes.new, +Counter(changes.fates)) == counted(before, cards, sweep)
                assert changes.new_cards == tuple(sorted(cards.keys() - before.keys()))
                assert changes.missing_cards == tuple(sorted(before.keys() - cards.keys()))
            before = cards
