"""Deviations at work: what they cover is marked and does not hold; the plain score never moves."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.rules.result import Outcome
from auditor.scoring.accepted import Acceptance
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.band import Band
from auditor.scoring.deviation import Deviation, DeviationSet
from auditor.scoring.deviation_finding import DeviationReview
from tests.report.sample import assess_cards, bare_card, good_card, make_run, poor_card, worst_card

DAY = date(2026, 11, 25)
AS_OF = datetime(2026, 11, 25, 23, 59, tzinfo=UTC)
RUN = make_run()
CARDS = assess_cards(RUN, [good_card(), poor_card(), worst_card(), bare_card()])
BASE = Deviation(
    "telnet-enabled", ("*",), "", "N. Adeyemi", "why", date(2026, 1, 1), date(2026, 12, 31), "", "d.toml", 1
)


def deviation(**changed: Any) -> Deviation:
    """Return a deviation in force for telnet on every card, with changes."""
    return replace(BASE, **changed)


def accept(
    *deviations: Deviation, as_of: datetime = AS_OF, whole_estate: bool = True
) -> tuple[list[CardAssessment], DeviationReview]:
    """Put deviations to work on the small estate."""
    acceptance = Acceptance(DeviationSet("d.toml", "0" * 64, deviations), as_of, whole_estate=whole_estate)
    return [acceptance.mark(card) for card in CARDS], acceptance.review()


def covered(cards: list[CardAssessment]) -> list[tuple[str, str, str]]:
    """Return card, rule and label of every finding under a deviation."""
    return [(c.card.id, f.rule.id, f.label) for c in cards for f in c.findings if f.deviation is not None]


def faults(review: DeviationReview) -> list[tuple[str, int]]:
    """Return id of each fault and the findings behind it."""
    return [(each.id, each.findings) for each in review.findings]


def test_a_finding_under_a_deviation_is_marked_and_stays() -> None:
    """Nothing is dropped; the deviation stands with the finding it covers, and with no other."""
    cards, review = accept(deviation())
    assert covered(cards) == [("south-pdu-01", "telnet-enabled", "")]
    assert [len(card.findings) for card in cards] == [len(card.findings) for card in CARDS]
    assert [(use.findings, use.cards) for use in review.uses] == [(1, 1)]
    assert review.findings == ()


def test_a_card_without_such_a_finding_goes_through_as_it_came() -> None:
    """Deviations cost nothing where they cover nothing: it is the very same object."""
    cards, _ = accept(deviation())
    assert [after is before for after, before in zip(cards, CARDS, strict=True)] == [True, True, False, True]


def test_the_worst_open_finding_leaves_the_accepted_one_out() -> None:
    """The worst of the card stays what it is; what holds is the worst that nobody answers for."""
    before = CARDS[2]
    rules = {finding.rule.id for finding in before.findings if finding.band is before.worst}
    cards, _ = accept(*(deviation(rule=rule) for rule in rules))
    assert cards[2].worst is before.worst
    assert cards[2].open_worst < before.worst


def test_a_card_pattern_and_a_member_narrow_it() -> None:
    """A deviation for one community of one card covers that one alone."""
    rule = "community-can-write"
    everywhere, _ = accept(deviation(rule=rule))
    assert covered(everywhere) == [("north-ups-02", rule, "control")]
    by_label, _ = accept(deviation(rule=rule, member="control", cards=("north-ups-0?",)))
    assert covered(by_label) == covered(everywhere)
    by_pointer, _ = accept(deviation(rule=rule, member="/snmp/communities/1"))
    assert covered(by_pointer) == covered(everywhere)
    other, _ = accept(deviation(rule=rule, member="monitoring"))
    assert covered(other) == []
    elsewhere, _ = accept(deviation(rule=rule, cards=("south-*",)))
    assert covered(elsewhere) == []


@pytest.mark.parametrize(
    ("changes", "fault"),
    [
        ({"expires": DAY - timedelta(days=1)}, "deviation-expired"),
        ({"approved": DAY + timedelta(days=1)}, "deviation-not-yet-approved"),
        ({"owner": ""}, "deviation-without-owner"),
        ({"days_too_many": 1}, "deviation-too-long"),
    ],
)
def test_a_deviation_that_is_not_in_force_covers_nothing_and_is_a_finding(
    changes: dict[str, Any], fault: str
) -> None:
    """Its severity is that of the finding that it leaves open."""
    cards, review = accept(deviation(**changes))
    assert covered(cards) == []
    (found,) = review.findings
    (open_one,) = (f for f in CARDS[2].findings if f.rule.id == "telnet-enabled")
    assert (found.id, found.severity, found.example_card) == (fault, open_one.severity, "south-pdu-01")


def test_the_last_day_is_still_covered_and_the_first_too() -> None:
    """Both days count as days of the deviation, in UTC."""
    assert covered(accept(deviation(expires=DAY))[0])
    assert covered(accept(deviation(approved=DAY))[0])
    late = datetime(2026, 11, 26, 0, 30, tzinfo=UTC)
    assert not covered(accept(deviation(expires=DAY), as_of=late)[0])
    west = late.astimezone(timezone(timedelta(hours=-8)))
    assert not covered(accept(deviation(expires=DAY), as_of=west)[0])


def test_two_that_cover_the_same_are_a_finding_and_the_first_counts() -> None:
    """Overlap is told once a pair, with both, and low: nothing is open."""
    cards, review = accept(deviation(line=1), deviation(line=9, cards=("south-*",)))
    (found,) = review.findings
    assert (found.id, found.deviation.line, found.band) == ("deviation-overlapping", 9, Band.LOW)
    assert found.beside is not None
    assert found.beside.line == 1
    marks = [f.deviation for f in cards[2].findings if f.deviation is not None]
    assert [mark.line for mark in marks] == [1]


def test_two_for_the_same_rule_on_other_cards_do_not_overlap() -> None:
    """Overlap is about findings, not about names."""
    rule = "session-timeout-too-long"
    _, review = accept(deviation(rule=rule, cards=("north-*",)), deviation(cards=("south-*",)))
    assert review.findings == ()


def test_one_that_matches_no_finding_is_a_finding() -> None:
    """The card is there, the defect is not: the deviation is left over."""
    _, review = accept(deviation(cards=("north-ups-01",)))
    assert faults(review) == [("deviation-unused", 0)]


def test_one_whose_result_is_only_not_known_is_not_called_unused() -> None:
    """Nobody captured the setting: that the defect is gone can't be said."""
    unknown = [missing.rule.id for missing in CARDS[3].missing]
    _, review = accept(deviation(rule=unknown[0], cards=("spare-7",)))
    assert faults(review) == []


def test_one_that_matches_no_card_is_a_finding_of_a_whole_run_only() -> None:
    """A run that was told to leave cards out can't say that a card is not there."""
    elsewhere = deviation(cards=("west-*",))
    assert faults(accept(elsewhere)[1]) == [("deviation-without-card", 0)]
    assert faults(accept(elsewhere, whole_estate=False)[1]) == []


def test_an_error_is_never_accepted() -> None:
    """A rule that could not be judged is a fault of ours: nobody can answer for it."""
    assert any(f.outcome is Outcome.ERROR for f in CARDS[1].findings)
    cards, _ = accept(deviation(rule="clock-polls-never"))
    assert covered(cards) == []


def test_the_score_set_aside_is_the_score_without_the_rule() -> None:
    """Worked by hand: the rule's weight leaves the maximum, a member its share."""
    cards, _ = accept(deviation())
    before, after = CARDS[2].score, cards[2].accepted_score
    weight = 10.0  # AV:N/AC:L/Au:N/C:C/I:C/A:C, the vector of telnet-enabled in sample.toml
    assert after is not None
    assert after.points == before.points
    assert after.maximum == pytest.approx(before.maximum - weight)
    both, _ = accept(deviation(rule="community-can-write"))
    whole, aside = CARDS[1].score, both[1].accepted_score
    assert aside is not None
    assert aside.maximum == whole.maximum
    assert aside.points > whole.points


RULES = sorted({finding.rule.id for card in CARDS for finding in card.findings})


@given(
    st.lists(
        st.builds(
            deviation,
            rule=st.sampled_from(RULES),
            cards=st.sampled_from([("*",), ("north-*",), ("south-pdu-01",), ("west-*",)]),
            owner=st.sampled_from(["", "N. Adeyemi"]),
            expires=st.sampled_from([DAY - timedelta(days=1), DAY + timedelta(days=1)]),
        ),
        max_size=6,
    )
)
def test_deviations_never_raise_a_score_silently(deviations: list[Deviation]) -> None:
    """The score, outcomes and worst stay; the other score is never below, and moves only with a mark."""
    cards, _ = accept(*deviations)
    for before, after in zip(CARDS, cards, strict=True):
        assert (after.score, after.outcomes, after.worst) == (before.score, before.outcomes, before.worst)
        assert [replace(f, deviation=None) for f in after.findings] == list(before.findings)
        marked = any(finding.deviation for finding in after.findings)
        assert (after.accepted_score is not None) is marked
        if after.accepted_score is not None and after.accepted_score.percent is not None:
            assert before.score.percent is not None
            assert after.accepted_score.percent >= before.score.percent - 1e-9
        assert all(f.deviation is None or f.deviation.owner for f in after.findings)
        assert all(f.deviation is None or f.deviation.expires >= DAY for f in after.findings)
