"""What time decides on a card, in words: figures worked by hand beside each sentence."""

from collections.abc import Callable
from typing import Any

import pytest

from auditor.facts.fact import Settings
from auditor.fleet.clock_sums import LooseClock, SiteClocks
from auditor.report.html.page import make_html
from auditor.report.markdown import make_markdown
from auditor.report.table import make_table
from auditor.report.times_view import NOT_KNOWN, OrderRow, order_rows, times_of
from auditor.report.writer import WriterMaker
from tests.report.sample import SITE, assess_cards, bare_card, good_card, make_run, render, worst_card

AGENTS = [
    {"name": "mail", "enabled": True, "shutdown_duration_s": 240, "outlet_group": "b"},
    {"name": "files", "enabled": True, "shutdown_duration_s": 200, "outlet_group": "a"},
    {"name": "spare", "enabled": False, "shutdown_duration_s": 900, "outlet_group": "a"},
]
STEPS = [{"step": 1, "delay_s": 60, "outlet_group": "a"}, {"step": 2, "delay_s": 90, "outlet_group": "b"}]


_TEN = "600 s (10 min)"
_NO_TIME = "takes no time: no step and no machine needs any"


def card() -> dict[str, Any]:
    """Return a card that shuts down in two steps; 20 minutes of battery, the timer takes 10 of them."""
    settings = good_card()
    settings["equipment"]["runtime_min"] = 20
    settings["shutdown"] = {
        "start_after_on_battery_s": 600,
        "start_at_runtime_min": 2,
        "output_off_delay_s": 60,
        "agents": AGENTS,
        "sequences": STEPS,
    }
    return settings


def said(settings: Settings) -> dict[str, str]:
    """Return what is said of a card, by what it is about."""
    run = make_run()
    (assessment,) = assess_cards(run, [settings])
    return {row.what: row.sentence for row in times_of(run, assessment)}


def test_a_shutdown_is_told_with_its_need_its_battery_and_what_is_between() -> None:
    """Steps 60 + 90 s, the slowest agent 240 s, then 60 s: 300 s; 1200 - 600 s of battery."""
    told = said(card())
    assert told["Shutdown"] == (
        "takes 300 s; the battery gives 600 s (10 min) from its start: 300 s to spare"
    )
    assert told["Latest start"] == "900 s (15 min) after mains fails, with no margin taken off"
    assert told["First to lose power"] == (
        "files, 60 s after the start: it needs 200 s; 1 more machine after it"
    )


def _late(settings: dict[str, Any]) -> None:
    settings["equipment"]["runtime_min"] = 4


def _by_runtime(settings: dict[str, Any]) -> None:
    settings["shutdown"]["start_at_runtime_min"] = 5


def _in_time(settings: dict[str, Any]) -> None:
    settings["shutdown"]["agents"] = []


def _idle(settings: dict[str, Any]) -> None:
    settings["shutdown"].update(agents=[], sequences=[], output_off_delay_s=0)


def _no_start(settings: dict[str, Any]) -> None:
    del settings["shutdown"]["start_at_runtime_min"]


@pytest.mark.parametrize(
    ("change", "what", "says"),
    [
        # 240 s of battery: the timer never runs out, so 120 s are left at the start by runtime
        (_late, "Shutdown", "takes 300 s; the battery gives 120 s from its start: 180 s too little"),
        (_late, "Latest start", "none is early enough: at once, it ends 60 s after the battery"),
        (_by_runtime, "Latest start", "no timer is too long: the remaining runtime starts it in time"),
        (_in_time, "First to lose power", "no machine, before it is down"),
        (_idle, "Shutdown", f"{_NO_TIME}; the battery gives {_TEN} from its start: {_TEN} to spare"),
        (_no_start, "Shutdown", "takes 300 s; what is left of the battery at its start is not known"),
        (_no_start, "Latest start", NOT_KNOWN),
        (_no_start, "First to lose power", NOT_KNOWN),
    ],
)  # fmt: skip
def test_each_case_has_its_sentence(change: Callable[[dict[str, Any]], None], what: str, says: str) -> None:
    """Too little, nothing early enough, no timer too long, nothing to do, and what isn't known."""
    settings = card()
    change(settings)
    assert said(settings)[what] == says


def test_equipment_without_a_battery_has_no_shutdown_of_its_own() -> None:
    """A PDU keeps its log and its clock only."""
    assert list(said(worst_card())) == ["Log", "Clock"]


def test_what_is_not_known_is_said_of_every_thing() -> None:
    """Nothing is left out for want of a figure."""
    told = said(bare_card())
    assert [told[what] for what in ("Shutdown", "Latest start", "First to lose power", "Log")] == [
        NOT_KNOWN
    ] * 4
    assert told["Clock"] == "nothing that is known bounds how far the time of an event is off"


@pytest.mark.parametrize(
    ("capacity", "rate", "keeps", "chance", "lost"),
    [
        (435, 5, "87.0", "76.6 %", "first 3 days"),
        (500, 10, "50.0", "above 99.9 %", "first 40 days"),
        (895, 10, "89.5", "57.1 %", "first hours"),
        (5000, 10, "500.0", "below 0.1 %", ""),
    ],
)
def test_a_log_tells_its_reach_its_chance_and_which_outage_is_lost(
    capacity: int, rate: int, keeps: str, chance: str, lost: str
) -> None:
    """The first from the retention table of the fact sheet, section 11; the third by scipy: sf(894, 900)."""
    wraps = f"chance that it is overwritten within the 90 days to the next sweep: {chance}"
    gone = f". An outage in the {lost} after a sweep leaves no trace in it" if lost else ""
    settings = good_card()
    settings["log"] = {"capacity_events": capacity, "events_per_day": rate}
    run = make_run(f"{SITE}\n[sweep]\nevery_days = 90\n")
    (assessment,) = assess_cards(run, [settings])
    assert {row.what: row.says for row in times_of(run, assessment)}["Log"] == (
        f"keeps {keeps} days on average; {wraps}{gone}"
    )


def test_without_a_sweep_the_log_tells_its_reach_only() -> None:
    """No ruleset and no site says how far apart sweeps are: nothing is made up."""
    assert said(good_card())["Log"] == "keeps 50.0 days on average"


def test_a_site_is_told_with_the_cards_that_make_it_so() -> None:
    """Bounds are rounded up, so that no order is told too soon; ids that found no room are counted."""
    loose = (LooseClock(3.01, "b"), LooseClock(1.5, "d"))
    clocks = (
        SiteClocks("North", 8, 6, ("c", "e", "f", "g"), loose),
        SiteClocks("", 2, 0, (), loose[:1]),
        SiteClocks("West", 2, 0, (), ()),
    )
    assert order_rows(clocks, 3) == [
        OrderRow("North", 8, "more than 4.6 s apart", "b", "3.1 s", ("c", "e", "f", "g"), 2),
        OrderRow("", 2, "no two cards", "b", "3.1 s", (), 0),
        OrderRow("West", 2, "no two cards", "", "", (), 0),
    ]
    assert len(order_rows(clocks, 2)) == 2


@pytest.mark.parametrize("make", [make_html, make_markdown, make_table])
def test_a_report_shows_the_times_of_a_card_and_the_order_of_an_estate(make: WriterMaker) -> None:
    """One card: its sentences. Two cards of a site: how far apart their events must be."""
    run, clocked = make_run(), card()
    clocked["time"]["source"] = "ntp"
    clocked["capture"].update(card_clock="2026-11-20T09:30:00Z", reference_clock="2026-11-20T09:30:00Z")
    alone = " ".join(render(make, run, assess_cards(run, [clocked])).decode().split())
    assert "the battery gives 600 s (10 min)" in alone
    assert "Whose events can be put in order" not in alone
    other = {**clocked, "card": {**clocked["card"], "id": "north-ups-09"}}
    both = render(make, run, assess_cards(run, [clocked, other])).decode()
    assert "Whose events can be put in order" in both
    assert "more than 2.2 s apart" in both
