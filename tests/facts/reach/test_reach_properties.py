"""What must hold of ways in on any card: closing, strengthening and knowing more work one way only."""

import copy
from collections.abc import Iterator
from datetime import UTC, datetime
from random import Random
from typing import Any

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from auditor.facts.fact import Context, Fact, Settings
from auditor.facts.reach import exposure
from auditor.facts.reach.way import RANKS, Channel, Grade, Origin, Proof, Truth3, Way, is_easier
from auditor.facts.reach.ways import minimal, risky_ways, ways
from auditor.facts.words import well_known_words
from tests.rules.mutation import forget_one, random_card

CONTEXT = Context(datetime(2026, 11, 25, tzinfo=UTC), well_known_words(), hash_words=())
FACTS = [fact for fact in vars(exposure).values() if isinstance(fact, Fact) and fact.basis is not None]
LONG = {"clear": "thimble-Orchard-58-lagoon-rivet"}

seeds = st.integers(min_value=0, max_value=2**32)


def name_of(way: Way) -> tuple[object, ...]:
    """Return what tells one way of a card from another; a v3 user has one a level."""
    return way.channel, way.pointer, way.party, way.proof_at, way.in_clear


def switches_of(record: Settings) -> Iterator[Settings]:
    """Yield the objects of a record that can be switched off to close something."""
    yield from (service for service in record.get("services", {}).values())
    snmp = record.get("snmp", {})
    yield from (snmp, *snmp.get("communities", ()), *snmp.get("users", ()))
    yield from record.get("accounts", ())


@settings(max_examples=80, deadline=None)
@given(seeds)
def test_closing_a_service_never_adds_a_way(seed: int) -> None:
    """With something switched off, no way is there that was not there before."""
    dice = Random(seed)  # noqa: S311 - made-up data
    record = random_card(dice)
    before = {name_of(way) for way in ways(record, CONTEXT)}
    closed = list(switches_of(record))
    if closed:
        dice.choice(closed)["enabled"] = False
        assert {name_of(way) for way in ways(record, CONTEXT)} <= before


def strengthened(record: Settings, dice: Random) -> None:
    """Make one proof of a record better, in place."""
    snmp = record.get("snmp", {})
    choices: list[tuple[Settings, str, Any]] = [
        *((row, "community", LONG) for row in snmp.get("communities", ())),
        *((row, name, LONG) for row in snmp.get("users", ()) for name in ("auth_secret", "priv_secret")),
        *((account, "password", LONG) for account in record.get("accounts", ())),
        *((account, "second_factor", True) for account in record.get("accounts", ())),
        *((account, "password_is_factory", False) for account in record.get("accounts", ())),
        *((agent, "secret", LONG) for agent in record.get("shutdown", {}).get("agents", ())),
    ]
    if choices:
        holder, name, value = dice.choice(choices)
        holder[name] = value


@settings(max_examples=80, deadline=None)
@given(seeds)
def test_strengthening_a_proof_never_makes_a_way_easier(seed: int) -> None:
    """With a better secret or a second factor no way is new, and none asks for less."""
    dice = Random(seed)  # noqa: S311 - made-up data
    record = random_card(dice)
    before = {name_of(way): way for way in ways(record, CONTEXT)}
    strengthened(record, dice)
    for way in ways(record, CONTEXT):
        old = before[name_of(way)]
        assert not is_easier(way, old)
        assert Proof.DIRECTORY in way.grade or RANKS[way.grade.hardest] >= RANKS[old.grade.easiest]


def refines(more: Way, less: Way) -> bool:
    """Return whether a way may be what another is known to be, with more known."""
    said = ("is_open", "reads", "configures", "switches", "in_clear")
    return (
        more.channel is less.channel
        and all(narrows(getattr(more, name), getattr(less, name)) for name in said)
        and narrows_grade(more.grade, less.grade)
        and narrows_origin(more.origin, less.origin)
    )


def narrows(more: Truth3, less: Truth3) -> bool:
    """Return whether a truth is the other, or the other was unknown."""
    return less is None or more is less


def narrows_grade(more: Grade, less: Grade) -> bool:
    """Return whether a grade lies within another."""
    if Proof.DIRECTORY in (*more, *less):
        return more == less or less.hardest is Proof.STRONG
    return RANKS[less.easiest] <= RANKS[more.easiest] and RANKS[more.hardest] <= RANKS[less.hardest]


def narrows_origin(more: Origin, less: Origin) -> bool:
    """Return whether an origin says nothing else than another did."""
    if more.place is not less.place or not narrows(more.any_address, less.any_address):
        return False
    routable = narrows(more.is_globally_routable, less.is_globally_routable)
    return routable and (less.prefixes is None or more == less)


def less_known(dice: Random) -> tuple[Settings, Settings, str]:
    """Return a card, the same with one setting forgotten, and which.

    Not one of the two things that tell what SNMP allows, rows and tables, nor the name that leads from
    one to the other: where they contradict each other nothing is known, and then more knowledge says less.
    """
    full = random_card(dice)
    less, pointer = forget_one(copy.deepcopy(full), dice)
    tells = pointer.startswith("/snmp/") and pointer.endswith(("/access", "/view", "/name", "/security_name"))
    assume(not pointer.startswith("/snmp/vacm") and not tells)
    return full, less, pointer


@settings(max_examples=120, deadline=None)
@given(seeds)
def test_knowing_more_only_refines_the_ways(seed: int) -> None:
    """Each way of the fuller record was there as a possible one; each sure way stays, or is told apart."""
    full, less, pointer = less_known(Random(seed))  # noqa: S311 - made-up data
    few, many = ways(less, CONTEXT), ways(full, CONTEXT)
    unforeseen = [way for way in many if not any(refines(way, old) for old in few)]
    lost = [old for old in few if old.is_open and not any(refines(way, old) for way in many)]
    assert (pointer, unforeseen, lost) == (pointer, [], [])


@settings(max_examples=120, deadline=None)
@given(seeds)
def test_what_is_decided_stays_decided_when_more_is_known(seed: int) -> None:
    """A fact on reach that is not unknown says yes or no as it will with one setting more."""
    full, less, pointer = less_known(Random(seed))  # noqa: S311 - made-up data
    for fact in FACTS:
        said, then = fact(less, CONTEXT), fact(full, CONTEXT)
        assert said is None or then is not None, (pointer, fact.name)
        assert said is None or bool(said) is bool(then), (pointer, fact.name)


@settings(max_examples=80, deadline=None)
@given(seeds)
def test_the_short_reading_for_rules_says_what_the_whole_one_says(seed: int) -> None:
    """Leaving out ways that no rule could object to changes no fact."""
    record = random_card(Random(seed))  # noqa: S311 - made-up data
    judged = tuple(way for way in ways(record, CONTEXT) if way.channel is not Channel.SHUTDOWN_AGENT)
    short = risky_ways(record, CONTEXT)
    assert {fact.name: fact.compute(short) for fact in FACTS} == {
        fact.name: fact.compute(judged) for fact in FACTS
    }


@settings(max_examples=50, deadline=None)
@given(seeds)
def test_easier_is_an_order_and_what_is_left_is_minimal(seed: int) -> None:
    """Nothing is easier than itself, nor two ways than each other; no way is left out without cause."""
    found = ways(random_card(Random(seed)), CONTEXT)  # noqa: S311 - made-up data
    assert not any(is_easier(way, way) for way in found)
    assert not any(is_easier(one, other) and is_easier(other, one) for one in found for other in found)
    kept = minimal(found)
    assert all(way in kept or any(is_easier(other, way) for other in kept) for way in found)
