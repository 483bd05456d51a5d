"""Who can switch outputs over an estate: the sums are those of the cards, whatever their order and number."""

import copy
import io
import random
from collections import Counter
from collections.abc import Mapping
from datetime import UTC, datetime
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.fact import Context
from auditor.facts.reach.closing import closings
from auditor.facts.reach.way import Origin, Place, Proof, Way
from auditor.facts.reach.ways import easiest_switching, effort, switching, ways
from auditor.facts.words import well_known_words
from auditor.fleet.reach_sums import From, ReachSummary, ReachSums, kind_of
from auditor.intake.records import read_records
from auditor.record.pointer import split
from auditor.record.reading import Record
from auditor.scoring.assessment import CardIdentity
from tests.report.test_reach_view import some_ways

CONTEXT = Context(datetime(2026, 11, 25, tzinfo=UTC), well_known_words())
ESTATE = Path(__file__).parents[2] / "fixtures/estate"


def identity(card_id: str) -> CardIdentity:
    """Return a card of which nothing but the id is known."""
    return CardIdentity(card_id, *[""] * 8)


@cache
def settings() -> dict[str, dict[str, Any]]:
    """Return the settings of the demo estate by card."""
    records = (r for r in read_records([str(ESTATE)], io.BytesIO()) if isinstance(r, Record))
    return {record.card_id: dict(record.settings) for record in records}


def summed(cards: Mapping[str, tuple[Way, ...]], **options: int) -> ReachSummary:
    """Return the sums over the ways of some cards."""
    sums = ReachSums(**options)
    for card_id, found in cards.items():
        sums.add_ways(identity(card_id), found)
    return sums.summary()


@cache
def estate() -> dict[str, tuple[Way, ...]]:
    """Return the ways of the demo estate by card."""
    return {card_id: ways(held, CONTEXT) for card_id, held in settings().items()}


def test_every_card_is_counted_once_by_its_easiest_way() -> None:
    """Counted again, card by card: by proof and place, without a sure way, without any."""
    easiest = {card_id: easiest_switching(found) for card_id, found in estate().items()}
    sums = summed(estate())
    assert sums.by_easiest == Counter(
        (way.proof, kind_of(way.origin)) for way in easiest.values() if way is not None
    )
    unsure = [i for i, found in estate().items() if easiest[i] is None and switching(found)]
    assert (sums.unsure, sums.open) == (len(unsure), sum(way is not None for way in easiest.values()))
    assert sums.cards == len(estate())
    assert {each.card.id: each.way for each in sums.easiest} == {
        card_id: way for card_id, way in easiest.items() if way is not None
    }


def test_a_change_closes_as_many_ways_as_it_says() -> None:
    """Carried out on every card of the demo, each change without a list takes exactly those ways away."""
    sums = summed(estate())
    single = [change for change in sums.changes if "*" not in change.pointer]
    assert len(single) > 5
    for change in single:
        closed = unsure = cards = without = 0
        for held in settings().values():
            before, changed = _sure(held), _off(held, change.pointer)
            after, perhaps = _sure(changed), _perhaps(changed)
            if here := sum(way not in after and way not in perhaps for way in before):
                closed += here
                unsure += sum(way in perhaps for way in before)
                cards += 1
                without += not after
        found = (change.closes, change.unsure, change.cards, change.cards_without)
        assert found == (closed, unsure, cards, without), change
    assert any(change.unsure for change in single)


def _sure(held: dict[str, Any]) -> list[tuple[str, str]]:
    return [(way.channel, way.party) for way in ways(held, CONTEXT) if way.is_open and way.switches]


def _perhaps(held: dict[str, Any]) -> list[tuple[str, str]]:
    """Return the ways that may switch, and are not sure to."""
    found = switching(ways(held, CONTEXT))
    return [(way.channel, way.party) for way in found if not (way.is_open and way.switches)]


def _off(held: dict[str, Any], pointer: str) -> dict[str, Any]:
    """Return settings with one that is there set to false."""
    changed = copy.deepcopy(held)
    *path, last = split(pointer)
    place: Any = changed
    for token in path:
        place = place.get(token, {})
    if last in place:
        place[last] = False
    return changed


@given(st.lists(some_ways(), max_size=6), st.integers(0, 1000))
def test_the_order_of_cards_changes_nothing(found: list[list[Way]], seed: int) -> None:
    """Sums are sums, and the cards that are named are named in one order."""
    cards = {f"card-{number}": tuple(each) for number, each in enumerate(found)}
    other = list(cards.items())
    random.Random(seed).shuffle(other)  # noqa: S311 - made-up data
    assert summed(cards) == summed(dict(other))
    assert summed(cards, kept=2).easiest == summed(cards).easiest[:2]


@given(some_ways())
def test_one_member_of_a_list_is_changed_on_a_card(found: list[Way]) -> None:
    """Of two accounts only the one that closes more counts: the change is one of one setting."""
    made = [
        way._replace(settings=("/services/http/enabled", f"/accounts/{number % 3}/enabled"))
        for number, way in enumerate(found)
    ]
    sums = summed({"one": tuple(made)})
    best = {change.pointer: change.closes for change in sums.changes}
    each = {closing.pointer: closing.closes for closing in closings(made)}
    accounts = [closes for pointer, closes in each.items() if pointer.startswith("/accounts")]
    assert best.get("/accounts/*/enabled", 0) == max(accounts, default=0)
    assert best.get("/services/http/enabled", 0) == each.get("/services/http/enabled", 0)


def test_the_easiest_cards_come_first_and_no_more_than_are_kept() -> None:
    """A thousand cards leave as much behind as two hundred."""
    way = next(way for found in estate().values() if (way := easiest_switching(found)) is not None)
    proofs = [proof for proof in Proof if proof is not Proof.UNKNOWN]
    cards = {
        f"card-{number:04}": (way._replace(grade=way.grade._replace(easiest=proof, hardest=proof)),)
        for number in range(1000)
        for proof in (proofs[number % len(proofs)],)
    }
    sums = summed(cards)
    assert len(sums.easiest) == 200
    efforts = [(effort(each.way), each.card.id) for each in sums.easiest]
    assert efforts == sorted(efforts)
    assert (sums.open, sums.number([Proof.NONE])) == (1000, 143)


@pytest.mark.parametrize(
    ("origin", "kind"),
    [
        (Origin(Place.PRESENCE), From.PRESENCE),
        (Origin(Place.RADIO), From.RADIO),
        (Origin(Place.OUTBOUND, None), From.OUTBOUND),
        (Origin(Place.NETWORK, any_address=True), From.ANYWHERE),
        (Origin(Place.NETWORK, prefixes=("192.0.2.0/24",)), From.LISTED),
        (Origin(Place.NETWORK, None, None), From.NOT_KNOWN),
    ],
)
def test_places_are_of_few_kinds(origin: Origin, kind: From) -> None:
    """Every place has its kind; addresses that were not captured have their own."""
    assert kind_of(origin) is kind


def test_the_demo_estate_says_what_its_ledger_tells() -> None:
    """The UV card is switched without proof from anywhere; the intake's card is unsure."""
    ids = [each.card.id for each in summed(estate()).easiest]
    assert ids[0] == "fhw-ups-uv"
    assert "fhw-ups-intake" not in ids
