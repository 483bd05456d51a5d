"""Whose events can be put in order: the sums over the clocks of each site."""

from itertools import combinations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.event_order import apart_to_order_s
from auditor.fleet.clock_sums import NAMED, ClockSums, LooseClock, SiteClocks
from tests.report.sample import assess_cards, bare_card, good_card, make_run


def clocks_of(**sites: dict[str, float | None]) -> tuple[SiteClocks, ...]:
    """Return the sums over the clocks of cards by id, site by site."""
    sums = ClockSums()
    for site, cards in sites.items():
        for card_id, uncertainty in cards.items():
            sums.add_clock(site, card_id, uncertainty)
    return sums.summary()


def test_a_site_tells_how_far_apart_events_must_be_and_whose_never_are() -> None:
    """The two loosest bounds add up, 3 s and 1.5 s; a card without a bound is named."""
    (north,) = clocks_of(North={"a": 1.0, "b": 3.0, "c": None, "d": 1.5})
    assert north == SiteClocks("North", 4, 1, ("c",), (LooseClock(3.0, "b"), LooseClock(1.5, "d")))
    assert north.apart_s == pytest.approx(4.5)


def test_a_site_with_one_bounded_clock_orders_nothing_and_one_card_needs_no_order() -> None:
    """Two cards, of which one has no bound, can never be ordered; a lone card is left out."""
    (south,) = clocks_of(South={"a": 1.0, "b": None}, Lone={"c": 1.0})
    assert (south.site, south.apart_s) == ("South", None)


def test_sites_where_least_can_be_told_come_first() -> None:
    """Most clocks without a bound, then the widest distance, then the name."""
    found = clocks_of(
        East={"a": 1.0, "b": 1.0},
        West={"a": 9.0, "b": 9.0},
        Moor={"a": 1.0, "b": 1.0},
        Vale={"a": None, "b": None},
    )
    assert [each.site for each in found] == ["Vale", "West", "East", "Moor"]


def test_only_some_cards_without_a_bound_are_named_but_all_are_counted() -> None:
    """The first ones, in the order of the input."""
    (north,) = clocks_of(North={f"card-{number}": None for number in range(NAMED + 3)})
    assert north.unbounded == NAMED + 3
    assert north.unbounded_ids == tuple(f"card-{number}" for number in range(NAMED))


@given(st.lists(st.one_of(st.none(), st.floats(0, 1e6)), min_size=2, max_size=9))
def test_no_two_cards_of_a_site_need_more_distance_than_it_says(clocks: list[float | None]) -> None:
    """Against every pair: the greatest distance that any two cards with a bound need."""
    (site,) = clocks_of(North={str(number): clock for number, clock in enumerate(clocks)})
    pairs = (apart_to_order_s(one, other) for one, other in combinations(clocks, 2))
    needed = [apart for apart in pairs if apart is not None]
    assert site.apart_s == (max(needed) if needed else None)


def test_the_clock_of_a_card_is_that_of_its_record() -> None:
    """2 s at the capture, 1 s of reading, 3600 s at 15 ppm; the other record says nothing of it."""
    card = good_card()
    card["time"]["source"] = "ntp"
    card["capture"].update(card_clock="2026-11-20T09:30:02Z", reference_clock="2026-11-20T09:30:00Z")
    other = bare_card()
    other["card"]["site"] = "North"
    sums = ClockSums()
    for assessment in assess_cards(make_run(), [card, other]):
        sums.add(assessment)
    (north,) = sums.summary()
    (loosest,) = north.loosest
    assert loosest.card_id == "north-ups-01"
    assert loosest.uncertainty_s == pytest.approx(3.054)
    assert north.unbounded_ids == ("spare-7",)
