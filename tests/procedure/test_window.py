"""Visits: what fits the window, most risk a minute first, and never a step before what it waits for."""

import pytest

from auditor.facts.catalogue import FACTS
from auditor.procedure.edit import edited
from auditor.procedure.left_out import Reason
from auditor.procedure.plan import Asked
from auditor.procedure.window import OneVisit, Timing, share_out
from auditor.record.reading import Record
from auditor.rules.loading import load_ruleset
from auditor.rules.program import make_program
from auditor.rules.tailoring import Tailoring
from tests.procedure.promises import leaves_a_way, ways_by_reach
from tests.procedure.sample import ADDRESS, compliant, demo_program, demo_records, plan
from tests.procedure.traps import CIRCULAR, ONLY_TELNET, RULE

WORKS = [record for record in demo_records() if record.card_id in ("fhw-ups-uv", "fhw-ups-highlift-b")]
PLANS = [plan(record, Asked(ADDRESS), demo_program()) for record in WORKS]


def test_without_a_window_one_visit_does_everything() -> None:
    """Its minutes are those of the steps, of the restarts, and of what is done before and after."""
    shared = share_out(PLANS, Timing(), None)
    (visit,) = shared.visits
    steps = [step for part in visit.parts for block in part.blocks for step in block.steps]
    assert len(steps) == sum(len(found.graph.steps) for found in PLANS)
    fixed = len(visit.parts) * (15 + 15)
    assert visit.minutes == fixed + sum(step.minutes for step in steps) + 3 * visit.restarts


def test_what_does_not_fit_goes_to_a_later_visit_in_an_order_that_holds() -> None:
    """No visit is longer than the window, nothing is lost, and nothing comes before what it waits for."""
    shared = share_out(PLANS, Timing(), 120)
    assert len(shared.visits) > 1
    assert all(visit.minutes <= 120 for visit in shared.visits)
    done: set[tuple[int, str]] = set()
    for visit in shared.visits:
        for part in visit.parts:
            for step in (step for block in part.blocks for step in block.steps):
                before = PLANS[part.card].graph.before[step.id]
                assert {(part.card, name) for name in before} <= done
                done.add((part.card, step.id))
    long = {(card, left.step.id) for card, lefts in shared.too_long.items() for left in lefts}
    assert done | long == {(card, name) for card, found in enumerate(PLANS) for name in found.graph.steps}


def test_the_first_visit_removes_more_risk_a_minute_than_the_second() -> None:
    """That is what decides who goes first."""
    first, second, *_ = share_out(PLANS, Timing(), 120).visits
    risks = [
        sum(step.risk for part in visit.parts for block in part.blocks for step in block.steps)
        / visit.minutes
        for visit in (first, second)
    ]
    assert risks[0] > risks[1]


def test_no_card_is_begun_for_little_that_is_visited_again_anyway() -> None:
    """Half an hour before and after one short step is for nothing; later the step takes minutes."""
    two = [plan(_card(name), Asked(ADDRESS), demo_program()) for name in ("fhw-ups-uv", "fhw-ups-lab")]
    visits = share_out(two, Timing(), 240).visits
    for number, visit in enumerate(visits):
        for part in visit.parts if len(visit.parts) > 1 else ():
            again = any(part.card == other.card for later in visits[number + 1 :] for other in later.parts)
            assert part.minutes - 30 >= 30 or not again, part.card
    assert len(visits) == 4, "no visit more for that"


def _risk(visit: OneVisit) -> float:
    return sum(step.risk for part in visit.parts for block in part.blocks for step in block.steps)


def test_a_window_too_short_for_any_step_plans_no_visit_and_says_so() -> None:
    """Each step is named, with its minutes."""
    found = plan(compliant({"services/mdns": {"enabled": True}}))
    shared = share_out([found], Timing(), 20)
    assert shared.visits == ()
    (left,) = shared.too_long[0]
    assert (left.step.id, left.reason) == ("discovery", Reason.TOO_LONG)
    assert left.detail == "this step, with 30 min before and after: 32 min in all"
    assert "32 min or more" in left.instead


def test_a_step_too_long_with_what_comes_before_it_says_how_long_all_is() -> None:
    """A firmware update waits for a backup: in an hour both don't fit, and nothing that waits for them."""
    found = plan(_card("fhw-ups-backwash"), Asked(ADDRESS), demo_program())
    lefts = {left.step.id: left for left in share_out([found], Timing(), 60).too_long[0]}
    assert lefts["firmware"].detail == "this step, with 30 min before and after: 73 min in all"
    assert lefts["telnet-enabled"].detail.startswith("this step and the ")
    assert "backup" not in lefts


def _card(name: str) -> Record:
    return next(record for record in demo_records() if record.card_id == name)


@pytest.mark.parametrize("window", [75, 120, 240])
def test_many_visits_lead_where_one_would(window: int) -> None:
    """Whatever the order that the window brings: the same settings, and a way in after each step."""
    for record in demo_records():
        found = plan(record, Asked(ADDRESS), demo_program())
        shared = share_out([found], Timing(), window)
        settings = record.settings
        open_now = ways_by_reach(settings, ADDRESS)
        for visit in shared.visits:
            for step in (step for part in visit.parts for block in part.blocks for step in block.steps):
                after = edited(settings, found.done[step.id].edits)
                open_then = ways_by_reach(after, ADDRESS)
                assert leaves_a_way(open_now, open_then), step.id
                settings, open_now = after, open_then
        if not shared.too_long:
            assert settings == found.after_settings, record.card_id


def test_a_way_that_an_earlier_visit_opened_counts_as_opened() -> None:
    """The new administrator of the first visit lets a later one close what waits for it."""
    found = plan(_card("fhw-ups-backwash"), Asked(ADDRESS), demo_program())
    shared = share_out([found], Timing(), 120)
    at = {
        step.id: number
        for number, visit in enumerate(shared.visits)
        for part in visit.parts
        for block in part.blocks
        for step in block.steps
    }
    assert at["new-administrator"] < at["fallback-accounts"]
    assert shared.too_long == {}


def test_a_longer_restart_makes_a_longer_visit() -> None:
    """The minutes of a restart are a parameter."""
    usual, slow = (share_out(PLANS, Timing(restart=minutes), None).visits[0] for minutes in (3, 10))
    assert slow.minutes - usual.minutes == 7 * usual.restarts > 0


def test_no_visit_closes_a_way_before_another_visit_opens_one() -> None:
    """Nothing orders the two but reach: the short step that closes waits for the long one that opens."""
    opens = RULE.format(id="a-https", service="https", visit="visit = { minutes = 20 }")
    closes = RULE.format(id="b-telnet", service="telnet", visit="visit = { cuts_access = true, minutes = 2 }")
    text = CIRCULAR + opens.replace("= false", "= true") + closes
    rules = make_program([load_ruleset(text.encode(), "own.toml", FACTS)], Tailoring(), FACTS)
    card = compliant({**ONLY_TELNET, "services/https/allowed_sources": {"prefixes": ["192.0.2.0/26"]}})
    found = plan(card, Asked(), rules)
    assert found.graph.before["b-telnet"] == frozenset()
    (visit,) = share_out([found], Timing(), 52).visits
    assert [step.id for block in visit.parts[0].blocks for step in block.steps] == ["a-https", "b-telnet"]
    shared = share_out([found], Timing(), 35)
    assert shared.visits == ()
    assert {left.step.id: left.reason for left in shared.too_long[0]} == {
        "a-https": Reason.TOO_LONG,
        "b-telnet": Reason.UNSAFE_PART,
    }
