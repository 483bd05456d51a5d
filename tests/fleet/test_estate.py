"""Sums over an estate: they add up, whatever the order and the grouping."""

import random
from typing import Any

import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.errors import Fault
from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.fleet.estate import EstateSummary, EstateSums
from auditor.fleet.reach_sums import ReachSums
from auditor.record.reading import Record, read_record
from auditor.rules.result import Outcome
from auditor.scoring.assessment import CardAssessment, assess, score_of
from auditor.scoring.band import Band
from auditor.scoring.xccdf import Model
from tests.rules.matrix import AS_OF, ROOT, program
from tests.rules.mutation import random_card

PROGRAM = program({})


def assessments(seed: int, count: int) -> list[CardAssessment]:
    """Return assessments of random cards in two sites."""
    dice = random.Random(seed)  # noqa: S311 - made-up data
    made = []
    for number in range(count):
        card = random_card(dice)
        card["card"] = {**card["card"], "id": f"card-{number:03d}", "site": dice.choice(("North", "South"))}
        record = read_record(orjson.dumps(card), "made.ndjson", first_line=number + 1)
        made.append(assess(record, PROGRAM, Context(AS_OF, well_known_words())))
    return made


def summed(cards: list[CardAssessment], **options: Any) -> EstateSummary:
    """Return the sums over some cards."""
    sums = EstateSums(PROGRAM, Band.MEDIUM, **options)
    for card in cards:
        sums.add(card)
    return sums.summary()


@given(st.integers(min_value=0))
@settings(max_examples=20, deadline=None)
def test_a_group_of_one_card_is_covered_as_the_card_is(seed: int) -> None:
    """One definition: what rules on the evidence say counts in neither."""
    (card,) = assessments(seed, 1)
    summary = summed([card])
    groups = [group for members in summary.groups.values() for group in members]
    assert {group.coverage_percent for group in (summary.whole, *groups)} == {card.coverage_percent}
    on_evidence = {PROGRAM.rules[place].id for place in PROGRAM.on_evidence}
    on_card = [result for result in card.results if result.rule.id not in on_evidence]
    assert card.coverage.counted == sum(result.counted for result in on_card) > 0


@given(st.integers(min_value=0), st.integers(min_value=1, max_value=8))
@settings(max_examples=40, deadline=None)
def test_sums_follow_from_the_cards(seed: int, count: int) -> None:
    """Score, outcomes, findings and rules of the whole are the sums over the cards' own results."""
    cards = assessments(seed, count)
    whole = summed(cards).whole
    results = [result for card in cards for result in card.results]
    assert abs(whole.score.points - sum(card.score.points for card in cards)) < 1e-9
    assert abs(whole.score.maximum - sum(card.score.maximum for card in cards)) < 1e-9
    assert sum(whole.findings_by_band.values()) == sum(len(card.findings) for card in cards)
    assert whole.outcomes[Outcome.PASS] == sum(result.passed for result in results)
    for name, sums in whole.rules.items():
        own = [result for result in results if result.rule.id == name]
        assert sums.passed == sum(result.passed for result in own)
        assert sums.passed + sums.failed + sums.unknown == sum(result.counted for result in own)
        assert sums.cards_failing == sum(r.outcome in (Outcome.FAIL, Outcome.ERROR) for r in own)


@given(st.integers(min_value=0))
@settings(max_examples=40, deadline=None)
def test_the_quick_flat_score_is_the_flat_model(seed: int) -> None:
    """The score summed from what is unusual equals XCCDF's flat model over all results."""
    for card in assessments(seed, 2):
        plain = score_of(card.results, Model.FLAT)
        assert abs(card.score.points - plain.points) < 1e-6
        assert abs(card.score.maximum - plain.maximum) < 1e-6


@given(st.integers(min_value=0), st.randoms(use_true_random=False))
@settings(max_examples=20, deadline=None)
def test_order_never_matters(seed: int, dice: random.Random) -> None:
    """The same cards in another order give the same worst cards, counts and verdict."""
    cards = assessments(seed, 6)
    shuffled = list(cards)
    dice.shuffle(shuffled)
    one, two = summed(cards, detailed=3), summed(shuffled, detailed=3)
    assert [card.card.id for card in one.worst_cards] == [card.card.id for card in two.worst_cards]
    assert one.whole.rules == two.whole.rules
    assert one.held == two.held


def test_groups_cover_every_card() -> None:
    """Each grouping counts every card once."""
    cards = assessments(7, 12)
    for groups in summed(cards).groups.values():
        assert sum(group.cards for group in groups) == len(cards)


def test_only_the_worst_cards_are_kept() -> None:
    """Beyond the limit the worst stay: by worst finding, then score, then id."""
    cards = assessments(3, 12)
    kept = summed(cards, detailed=4).worst_cards
    ranked = sorted(cards, key=lambda c: (-c.worst.rank, c.score.percent or 100.0, c.card.id))
    assert [card.card.id for card in kept] == [card.card.id for card in ranked[:4]]


def test_at_most_a_thousand_faults_are_kept_and_every_record_is_counted() -> None:
    """An estate of broken files doesn't fill the memory: the first thousand faults are told."""
    faults = [Fault("broken.json", f"/{number}", 0, 0, "p", "r") for number in range(600)]
    sums = EstateSums(PROGRAM, Band.MEDIUM)
    for _ in range(3):
        sums.add_unusable(faults)
    summary = sums.summary()
    assert (len(summary.faults), summary.unusable) == (1000, 3)
    assert summary.faults == (*faults, *faults[:400])


@pytest.mark.parametrize(("hold_at", "held"), [(Band.NONE, False), (Band.LOW, False)])
def test_an_estate_without_findings_is_never_held(hold_at: Band, *, held: bool) -> None:
    """Held from ``none`` means held by any finding, not by none."""
    sums = EstateSums(PROGRAM, hold_at)
    sums.add(assess(compliant(), PROGRAM, Context(AS_OF, well_known_words())))
    summary = sums.summary()
    assert (summary.whole.worst, summary.held) == (Band.NONE, held)


@pytest.mark.parametrize(("hold_at", "held"), [(Band.NONE, True), (Band.HIGH, True), (Band.CRITICAL, False)])
def test_an_estate_is_held_from_its_band_on(hold_at: Band, *, held: bool) -> None:
    """A high finding holds from its own band and from every lower one, not where only critical ones hold."""
    card = orjson.loads((ROOT / "fixtures/cards/compliant.json").read_bytes())
    card["access_policy"]["concurrent_sessions"] = 99
    sums = EstateSums(PROGRAM, hold_at)
    record = read_record(orjson.dumps(card), "made.json")
    sums.add(assess(record, PROGRAM, Context(AS_OF, well_known_words())))
    assert sums.summary().held is held


def compliant() -> Record:
    """Return the exemplary card."""
    return read_record((ROOT / "fixtures/cards/compliant.json").read_bytes(), "compliant.json")


def test_an_estate_without_cards_is_released() -> None:
    """Nothing assessed is no score at all, and nothing to hold; the command still ends with 2."""
    summary = summed([])
    assert summary.whole.score.percent is None
    assert not summary.held


def test_the_worst_cards_keep_what_they_were_judged_by_only_where_it_is_wanted() -> None:
    """Settings are large: a run whose reports show no ways keeps none."""
    cards = assessments(3, 5)
    with_reach = summed(cards, reach=ReachSums())
    assert all(card.basis is not None for card in with_reach.worst_cards)
    assert with_reach.reach is not None
    assert with_reach.reach.cards == len(cards)
    without = summed(cards)
    assert [card.basis for card in without.worst_cards] == [None] * 5
    assert (without.worst_cards, without.reach) == (with_reach.worst_cards, None)
