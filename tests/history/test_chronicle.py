"""What becomes of findings and cards over sweeps: cases worked by hand."""

from collections import Counter
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.history.card_life import Event
from auditor.history.fate import Fate
from auditor.history.history import History
from auditor.history.standing import standing_of
from auditor.history.sweep import KeptDeviation
from auditor.scoring.band import Band
from tests.history.by_hand import accepted, day, result, sweep_on, told


def spells(history: History) -> list[tuple[Any, ...]]:
    """Return each spell: its finding, the days it spans, its fate, and how often it was mended before."""
    return sorted(
        (
            spell.card,
            ":".join(filter(None, spell.finding.key)),
            (spell.opened - day(0)).days,
            (spell.last_found - day(0)).days,
            None if spell.ended is None else (spell.ended - day(0)).days,
            spell.fate.value,
            spell.earlier,
        )
        for spell in history.spells
    )


def events(history: History) -> list[dict[str, int]]:
    """Return what each sweep counted."""
    return [
        {event.value: count for event, count in point.events.items() if count} for point in history.points
    ]


def test_a_finding_comes_stays_goes_and_returns() -> None:
    """Found on days 0 and 30, mended by day 60, back on day 90: two spells, the second a return."""
    history = told(
        (sweep_on(0), [result("x", "b")]),
        (sweep_on(30), [result("x", "a b")]),
        (sweep_on(60), [result("x", "a")]),
        (sweep_on(90), [result("x", "a b")]),
    )
    assert spells(history) == [
        ("x", "a", 30, 90, None, "open", 0),
        ("x", "b", 0, 30, 60, "mended", 0),
        ("x", "b", 90, 90, None, "open", 1),
    ]
    assert events(history) == [
        {"first": 1},
        {"new": 1, "persisting": 1},
        {"mended": 1, "persisting": 1},
        {"returned": 1, "persisting": 1},
    ]
    assert [spell.finding.rule for spell in history.spells if spell.is_open] == ["a", "b"]


def test_the_age_of_a_finding_runs_from_the_sweep_that_first_found_it() -> None:
    """To now while it is open, to the sweep that saw it mended after that; older ones say so."""
    history = told(
        (sweep_on(0), [result("x", "a b")]), (sweep_on(40), [result("x", "a c")]), as_of=day(50)
    )  # fmt: skip
    found = {spell.finding.rule: spell for spell in history.spells}
    assert {rule: spell.age_days(history.as_of) for rule, spell in found.items()} == {
        "a": 50,
        "b": 40,
        "c": 10,
    }
    assert {rule for rule, spell in found.items() if spell.since_before} == {"a", "b"}
    assert (found["b"].lifetime.days, found["b"].lifetime.mended) == (40, True)
    assert (found["a"].lifetime.days, found["a"].lifetime.mended) == (40, False)


def test_a_setting_that_is_no_longer_captured_mends_nothing() -> None:
    """The finding is lost, not mended: it stays open, as old as it is, and can be found again."""
    history = told(
        (sweep_on(0), [result("x", "a b:m c:m")]),
        (sweep_on(30), [result("x", undecided="a b c:m")]),
        (sweep_on(60), [result("x", "a", undecided="b")]),
    )
    assert spells(history) == [
        ("x", "a", 0, 60, None, "open", 0),
        ("x", "b:m", 0, 0, None, "lost", 0),
        ("x", "c:m", 0, 0, 60, "mended", 0),
    ]
    assert events(history)[1] == {"lost": 3}
    assert all(spell.is_open for spell in history.spells if spell.fate is Fate.LOST)


def test_a_rule_that_no_longer_judges_mends_nothing() -> None:
    """Its findings are withdrawn; a rule that is new finds what was there before."""
    history = told(
        (sweep_on(0, rules="ab"), [result("x", "a b")]), (sweep_on(30, rules="bc"), [result("x", "b c")])
    )  # fmt: skip
    assert spells(history) == [
        ("x", "a", 0, 0, 30, "withdrawn", 0),
        ("x", "b", 0, 30, None, "open", 0),
        ("x", "c", 30, 30, None, "open", 0),
    ]
    assert events(history)[1] == {"withdrawn": 1, "persisting": 1, "first": 1}
    assert not history.mending_of_all.mended


def test_rules_that_come_and_go_are_seen_on_a_card_that_does_not_change() -> None:
    """The same result by fewer rules: the finding is withdrawn all the same."""
    same = result("x", "b")
    history = told((sweep_on(0, rules="ab"), [same]), (sweep_on(30, rules="b"), [same]))
    assert spells(history) == [("x", "b", 0, 30, None, "open", 0)]


def test_cards_come_go_and_return() -> None:
    """A card that a sweep of its part did not see is missing, and out of the sums until it is seen again."""
    x, y = result("x", "a"), result("y", "b c")
    history = told(
        (sweep_on(0), [x, y]), (sweep_on(30), [x]), (sweep_on(60), [x, result("z")]), as_of=day(60)
    )
    standing = {card.result.card: card for card in history.cards}
    assert standing["y"].missed == day(30)
    assert [point.missed_cards for point in history.points] == [0, 1, 0]
    assert [point.whole.cards for point in history.points] == [2, 1, 2]
    assert [name for name, card in standing.items() if card.is_new] == ["z"]
    assert spells(history)[1:] == [("y", "b", 0, 0, None, "open", 0), ("y", "c", 0, 0, None, "open", 0)]
    back = told((sweep_on(0), [x, y]), (sweep_on(30), [x]), (sweep_on(60), [x, y]))
    assert {card.missed for card in back.cards} == {None}
    assert back.now.whole.cards == 2


def test_parts_and_stores_miss_only_their_own_cards() -> None:
    """A sweep of the north misses no card of the south, nor does another store's."""
    history = told(
        (sweep_on(0, part="north"), [result("n")]),
        (sweep_on(1, part="south"), [result("s")]),
        (sweep_on(2, origin="1" * 32), [result("o")]),
        (sweep_on(30, part="north"), [result("n")]),
    )
    assert {card.missed for card in history.cards} == {None}
    assert history.now.whole.cards == 3
    assert len(history.series) == 3


def test_a_card_that_changes_its_part_is_counted_once_and_not_missed() -> None:
    """Its last sighting counts, wherever that was."""
    history = told(
        (sweep_on(0, part="north"), [result("x", "a")]),
        (sweep_on(1, part="south"), [result("x", "a b")]),
        (sweep_on(2, part="north"), [result("y")]),
    )
    standing = {card.result.card: card for card in history.cards}
    assert standing["x"].missed is None
    assert history.now.whole.cards == 2
    assert history.now.whole.findings[Band.CRITICAL] == 1


def test_the_calendar_shows_what_is_overdue() -> None:
    """90 days after a card was last seen the next sweep is due; a missing card becomes overdue."""
    sweeps = ((sweep_on(0), [result("x"), result("y")]), (sweep_on(60), [result("x")]))
    on_time = told(*sweeps, as_of=day(90))
    assert [card.is_overdue for card in on_time.cards] == [False, False]
    late = told(*sweeps, as_of=day(90.5))
    assert [card.is_overdue for card in late.cards] == [False, True]
    assert not late.series[0].is_overdue
    assert told(*sweeps, as_of=day(150.1)).series[0].is_overdue
    without = told((sweep_on(0, every_days=None), [result("x")]), as_of=day(9999))
    assert (without.cards[0].due, without.cards[0].is_overdue) == (None, False)


def test_an_old_capture_makes_a_card_stale() -> None:
    """Captures are of day -10: on day 80 just not too old, then too old."""
    sweeps = ((sweep_on(0), [result("x")]),)
    assert [card.is_stale for card in told(*sweeps, as_of=day(80)).cards] == [False]
    assert [card.is_stale for card in told(*sweeps, as_of=day(80.1)).cards] == [True]


def test_deviations_near_their_end_are_seen() -> None:
    """Those that end before the next sweep is due, and those that have ended."""

    def made(name: str, expires: str) -> KeptDeviation:
        return KeptDeviation(name, ("*",), "", "N. Adeyemi", "CHG-1", date.fromisoformat(expires), 1)

    deviations = [made("a", "2025-12-30"), made("b", "2026-03-31"), made("c", "2026-04-01")]
    history = told((sweep_on(0, deviations=tuple(deviations)), [accepted(result("x", "a b c"))]))
    assert [(each.deviation.rule, each.days_left, each.is_near) for each in history.deviations] == [
        ("a", -2, True), ("b", 89, True), ("c", 90, False),
    ]  # fmt: skip
    assert history.now.whole.accepted == 3


def test_time_to_mend_is_told_by_severity() -> None:
    """Two critical ones mended after 30 and 60 days, one high one open: a median for the one alone."""
    history = told(
        (sweep_on(0), [result("x", "a"), result("y", "a"), result("z", "b")]),
        (sweep_on(30), [result("x"), result("y", "a"), result("z", "b")]),
        (sweep_on(60), [result("x"), result("y"), result("z", "b")]),
    )
    assert list(history.mending) == [Band.CRITICAL, Band.HIGH, Band.MEDIUM, Band.LOW]
    assert history.mending[Band.CRITICAL].median_days == 30
    assert (history.mending[Band.HIGH].median_days, history.mending[Band.HIGH].open) == (None, 1)
    assert history.mending_of_all.findings == 3


def test_findings_without_severity_have_a_time_to_mend_where_there_are_any() -> None:
    """So that the severities add up to all."""
    history = told(
        (sweep_on(0), [result("x", "n"), result("y", "a")]), (sweep_on(30), [result("x"), result("y")])
    )
    assert history.mending[Band.NONE].mended == 1
    assert sum(each.mended for each in history.mending.values()) == history.mending_of_all.mended == 2


def test_what_the_last_sweep_changed_is_told_by_name() -> None:
    """What came, came back, went, was lost or set aside; not what stood before or came with a new card."""
    history = told(
        (sweep_on(0), [result("w", "d"), result("x", "a b c"), result("y", "a")]),
        (sweep_on(30), [result("w"), result("x", "a b c"), result("y", "a")]),
        (sweep_on(60, rules="acd"), [result("w", "d"), result("x", "c:m", undecided="a"), result("z", "a")]),
    )
    assert [(spell.card, *spell.finding.key, spell.fate.value, spell.earlier) for spell in history.moves] == [
        ("x", "a", "", "lost", 0),
        ("x", "c", "m", "open", 0),
        ("w", "d", "", "open", 1),
        ("x", "b", "", "withdrawn", 0),
        ("x", "c", "", "mended", 0),
    ]
    assert {spell.since for spell in history.moves} == {day(60)}
    assert told((sweep_on(0), [result("x", "a")])).moves == ()


def test_the_trend_pools_points_as_an_audit_does() -> None:
    """80 and 100 of 100 points each: 90 %; the site of each is a group of its own."""
    history = told((sweep_on(0), [result("x", "a b"), result("y", site="South")]))
    assert history.now.whole.percent == 90
    assert {name: group.percent for name, group in history.now.groups["site"].items()} == {
        "North": 80, "South": 100,
    }  # fmt: skip
    assert standing_of([]).percent is None


CARDS = st.dictionaries(
    st.sampled_from("xyz"),
    st.sampled_from(["", "a", "a b", "b:m", "a b:m b:n c", "d"]),
    min_size=1,
)


@given(st.lists(CARDS, min_size=1, max_size=6))
def test_what_the_last_sweep_changed_is_what_it_counted(sweeps: list[dict[str, str]]) -> None:
    """In one series: as many findings came, came back and went as the last point says."""
    history = told(
        *(
            (sweep_on(number), [result(card, found) for card, found in cards.items()])
            for number, cards in enumerate(sweeps)
        )
    )
    counts = Counter((spell.fate, spell.earlier > 0) for spell in history.moves)
    events = history.now.events
    assert counts[Fate.OPEN, False] == events.get(Event.NEW, 0)
    assert counts[Fate.OPEN, True] == events.get(Event.RETURNED, 0)
    assert counts[Fate.MENDED, False] + counts[Fate.MENDED, True] == events.get(Event.MENDED, 0)


@given(st.lists(st.tuples(CARDS, st.sampled_from(["", "north"])), min_size=1, max_size=8))
def test_what_goes_by_is_what_stands_at_the_end(sweeps: list[tuple[dict[str, str], str]]) -> None:
    """Sums that add and take away equal those made at once; open spells are the findings that stand."""
    history = told(
        *(
            (sweep_on(number, part=part), [result(card, found) for card, found in cards.items()])
            for number, (cards, part) in enumerate(sweeps)
        )
    )
    there = [card.result for card in history.cards if card.missed is None]
    standing = {(each.card, finding.key) for each in there for finding in each.findings}
    missing = {card.result.card for card in history.cards if card.missed}
    open_ones = {(spell.card, spell.finding.key) for spell in history.spells if spell.is_open}
    assert {each for each in open_ones if each[0] not in missing} == standing
    assert history.now.whole.cards == len(there)
    assert sum(history.now.whole.findings.values()) == len(standing)
    first = sum(point.events[Event.FIRST] + point.events[Event.NEW] for point in history.points)
    returned = sum(point.events[Event.RETURNED] for point in history.points)
    assert first + returned == len(history.spells)
    assert sum(point.events[Event.MENDED] for point in history.points) == history.mending_of_all.mended


@pytest.mark.parametrize("number", [0, 29, 30])
def test_history_as_of_an_earlier_day_knows_no_later_sweep(number: int) -> None:
    """Ages are never negative."""
    history = told((sweep_on(0), [result("x", "a")]), as_of=day(number))
    assert [spell.age_days(history.as_of) for spell in history.spells] == [number]
