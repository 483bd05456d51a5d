"""Drift: what moved since the mark, which moves matter, and what can't be told without a key."""

from datetime import timedelta
from typing import Any

import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.change.drift import CardDrift, Standing, drift_of
from auditor.change.mark import make_mark, read_mark
from auditor.facts.fact import Context
from auditor.facts.sealing import seal
from tests.change.states import edited, record, terms
from tests.change.test_mark import CONTEXT, KEY, OTHER
from tests.report.sample import AS_OF, SECRET, bare_card, good_card, poor_card, worst_card

Card = dict[str, Any]


def drift(
    approved: Card, present: Card, key: bytes | None = KEY, marked_with: bytes | None = KEY
) -> CardDrift:
    """Mark a card, and compare what is there now."""
    by = terms()
    text = make_mark(record(approved), "N. Adeyemi", CONTEXT, by.program, marked_with)
    return drift_of(record(present), read_mark(text, "marks/x.json", key), by, key)


def moved(found: CardDrift) -> list[tuple[str, tuple[str, ...]]]:
    """Return the title of each move, and the rules that it matters to."""
    return [(each.move.title, each.rules) for each in found.moves]


@pytest.mark.parametrize("card", [good_card(), poor_card(), worst_card(), bare_card()])
@pytest.mark.parametrize("key", [KEY, None])
def test_a_card_stands_as_marked(card: Card, key: bytes | None) -> None:
    """The very record; and the same settings written anew, captured anew."""
    assert drift(card, card, key, key).standing is Standing.AS_MARKED
    anew = edited(
        dict(reversed(card.items())),
        lambda each: each.update(capture={"taken_at": (AS_OF + timedelta(days=1)).isoformat()}),
    )
    found = drift(card, anew, key, key)
    assert (found.standing, found.moves) == (Standing.AS_MARKED, ())


def test_a_move_that_changes_no_outcome_is_told_apart() -> None:
    """A new name is a move; no rule minds."""
    found = drift(good_card(), edited(good_card(), lambda card: card["card"].update(name="UPS B")))
    assert (found.standing, moved(found)) == (Standing.MOVED, [("Card: Name", ())])


def test_a_move_that_changes_an_outcome_matters() -> None:
    """Telnet is on now: the move names the rule; a move beside it does not."""

    def change(card: Card) -> None:
        card["services"]["telnet"]["enabled"] = True
        card["card"]["name"] = "UPS B"

    found = drift(good_card(), edited(good_card(), change))
    assert found.standing is Standing.MATTERS
    assert moved(found) == [("Card: Name", ()), ("Services: Telnet: Enabled", ("telnet-enabled",))]


def test_a_mend_matters_too() -> None:
    """Nobody approved it: the outcome is another one, if a better one."""
    found = drift(
        worst_card(), edited(worst_card(), lambda card: card["services"]["telnet"].update(enabled=False))
    )
    assert (found.standing, found.outcomes) == (Standing.MATTERS, ("telnet-enabled",))


def test_a_move_by_way_of_a_fact_matters_by_what_the_fact_reads() -> None:
    """The rule about the log rests on a fact of two settings."""
    found = drift(good_card(), edited(good_card(), lambda card: card["log"].update(events_per_day=100)))
    assert moved(found) == [("Log: Events per day", ("log-too-short",))]


def test_a_card_without_a_mark_is_told() -> None:
    """Nobody approved it."""
    assert drift_of(record(good_card()), None, terms(), KEY).standing is Standing.NO_MARK


def test_a_mark_that_is_not_whole_is_told_before_all_else() -> None:
    """Altered, untagged, or of another key: the card does not pass as marked, though nothing moved."""
    for marked_with in (None, OTHER):
        found = drift(good_card(), good_card(), KEY, marked_with)
        assert found.standing is Standing.MARK_NOT_WHOLE


def with_password(secret: dict[str, Any]) -> Card:
    """Return the good card with another password."""
    return edited(good_card(), lambda card: card["accounts"][0].update(password=secret))


def test_a_secret_that_changed_is_seen_with_the_key() -> None:
    """By its tag, though everything else that is kept of it is the same; neither is told."""
    found = drift(good_card(), with_password({"clear": "m0use-w4rren-"}))
    assert moved(found) == [("Accounts: keeper: Password", ())]
    assert SECRET not in repr(found)
    assert "m0use" not in repr(found)


def test_a_record_that_was_sealed_since_did_not_move() -> None:
    """The same key gives the same tags: sealed or in clear, it is the same secret."""
    sealed = orjson.loads(orjson.dumps(seal(record(good_card()).settings, KEY, CONTEXT)))
    assert drift(good_card(), sealed).moves == ()
    assert drift(sealed, good_card()).moves == ()


def test_without_a_key_a_secret_that_looks_alike_can_not_be_compared() -> None:
    """It is counted, so that nobody takes silence for sameness; one of another length is seen."""
    alike = drift(good_card(), with_password({"clear": "m0use-w4rren-"}), None, None)
    assert (alike.moves, alike.not_comparable) == ((), 2)
    shorter = drift(good_card(), with_password({"clear": "m0use"}), None, None)
    assert moved(shorter) == [("Accounts: keeper: Password", ())]


def test_a_tagged_mark_can_be_compared_without_the_key_but_for_its_secrets() -> None:
    """Who looks for drift need not have the key; what that leaves open is counted."""
    found = drift(good_card(), with_password({"clear": "m0use-w4rren-"}), None, KEY)
    assert (found.moves, found.not_comparable) == ((), 2)
    assert found.standing is Standing.AS_MARKED


def test_hashes_are_compared_as_they_are() -> None:
    """They need no key: the same hash is the same text."""
    one, two = ({"crypt": f"$6$saltsalt${letter * 86}"} for letter in "ab")
    assert moved(drift(with_password(one), with_password(two), None, None)) == [
        ("Accounts: keeper: Password", ())
    ]


def test_the_day_of_a_mark_is_not_held_against_the_card() -> None:
    """Both states are judged as of now: what only time changed is for the audit to find."""
    by = terms()
    long_ago = Context(AS_OF - timedelta(days=4000))
    text = make_mark(record(good_card()), "N. Adeyemi", long_ago, by.program, KEY)
    anew = edited(good_card(), lambda card: card["card"].update(name="UPS B"))
    assert drift_of(record(anew), read_mark(text, "marks/x.json", KEY), by, KEY).outcomes == ()


EDITS: dict[str, Any] = {
    "telnet": lambda card: card["services"]["telnet"].update(enabled=True),
    "name": lambda card: card["card"].update(name="UPS B"),
    "log": lambda card: card.pop("log", None),
    "account": lambda card: card["accounts"].append({"name": "n", "is_shared": True, "enabled": True}),
    "secret": lambda card: card["accounts"][0].update(password={"clear": "m0use-w4rren-"}),
}


@given(st.lists(st.sampled_from(sorted(EDITS)), unique=True))
def test_a_card_stands_as_marked_exactly_if_nothing_moved(names: list[str]) -> None:
    """With the key, no edit goes unseen, and none is invented."""
    found = drift(good_card(), edited(good_card(), *(EDITS[name] for name in names)))
    assert (found.standing is Standing.AS_MARKED) is (not names)
    assert bool(found.moves) is bool(names)
    assert (found.standing is Standing.MATTERS) is bool(set(names) & {"telnet", "log", "account"})
    assert found.not_comparable == 0
