"""Facts on shutdown: the model worked by hand, walked second by second, and with settings removed."""

from collections.abc import Mapping
from datetime import UTC, datetime
from math import ceil
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts import shutdown
from auditor.facts.fact import Context, Fact, Settings
from tests.facts.less_known import thinned

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC), frozenset({"admin"}))


def card(**changed: Any) -> Settings:
    """Return a card with two steps, two agents and 20 minutes of battery; ``...`` leaves a member out."""
    section = {
        "start_after_on_battery_s": 300,
        "start_at_runtime_min": 10,
        "output_off_delay_s": 60,
        "sequences": [
            {"step": 1, "delay_s": 90, "outlet_group": "a"},
            {"step": 1, "delay_s": 120, "outlet_group": "b"},
            {"step": 2, "delay_s": 180, "outlet_group": "c"},
        ],
        "agents": [
            {"name": "one", "enabled": True, "shutdown_duration_s": 90, "outlet_group": "a"},
            {"name": "two", "enabled": True, "shutdown_duration_s": 240, "outlet_group": "c"},
        ],
    } | changed
    return {
        "equipment": {"runtime_min": 20},
        "shutdown": {name: value for name, value in section.items() if value is not ...},
    }


def agent(duration: int | None = None, group: str | None = None, *, enabled: bool | None = True) -> Settings:
    """Return an agent without the members that are None."""
    members = {"enabled": enabled, "shutdown_duration_s": duration, "outlet_group": group}
    return {name: value for name, value in members.items() if value is not None}


def test_needed_time_is_the_longest_delay_of_each_step_added_up() -> None:
    """By hand: 120 + 180 for the steps (the agents are faster), and 60 until the output goes off."""
    assert shutdown.shutdown_needed_s(card(), CONTEXT) == 360


def test_a_slow_agent_counts_instead_of_the_steps() -> None:
    """By hand: 900 for the agent is more than 300 for the steps; 60 follow."""
    assert shutdown.shutdown_needed_s(card(agents=[agent(900)]), CONTEXT) == 960


def test_a_disabled_agent_counts_for_nothing() -> None:
    """However slow, an agent that is not told to stop does not delay the others."""
    agents = [agent(9000, enabled=False), agent(90)]
    assert shutdown.shutdown_needed_s(card(agents=agents), CONTEXT) == 360


def test_an_agent_not_known_to_be_enabled_counts_only_if_it_could_matter() -> None:
    """One that is faster than the steps changes nothing either way; a slower one leaves it open."""
    assert shutdown.shutdown_needed_s(card(agents=[agent(299, enabled=None)]), CONTEXT) == 360
    assert shutdown.shutdown_needed_s(card(agents=[agent(301, enabled=None)]), CONTEXT) is None


@pytest.mark.parametrize(
    ("timer", "at_runtime", "available"),
    [
        (300, 10, 900.0),  # the timer comes first: 1200 - 300
        (900, 10, 600.0),  # the remaining runtime comes first
        (900, 0, 300.0),  # no remaining runtime: the timer alone
        (9000, 0, 0.0),  # the battery is empty before the timer ends
        (300, 60, 1200.0),  # less than an hour is left at once: it starts at once
    ],
)
def test_available_time_is_what_is_left_when_the_first_start_comes(
    timer: int, at_runtime: int, available: float
) -> None:
    """By hand, with 1200 s of battery."""
    record = card(start_after_on_battery_s=timer, start_at_runtime_min=at_runtime)
    assert shutdown.shutdown_available_s(record, CONTEXT) == available


def test_without_a_timer_only_the_remaining_runtime_counts() -> None:
    """A card that says that no timer is set starts at 10 minutes; one that says nothing is unknown."""
    told = card(start_after_on_battery_s=..., no_battery_timer=True)
    assert shutdown.starts_by_timer(told, CONTEXT) is False
    assert shutdown.shutdown_available_s(told, CONTEXT) == 600.0
    untold = card(start_after_on_battery_s=...)
    assert shutdown.starts_by_timer(untold, CONTEXT) is None
    assert shutdown.shutdown_available_s(untold, CONTEXT) is None


def test_a_timer_that_is_given_and_denied_is_unknown() -> None:
    """A record that contradicts itself decides nothing."""
    record = card(no_battery_timer=True)
    assert shutdown.starts_by_timer(record, CONTEXT) is None
    assert shutdown.shutdown_spare_s(record, CONTEXT) is None


def test_spare_time_is_available_less_needed() -> None:
    """By hand: 900 - 360 s; negative when the battery is empty first."""
    assert shutdown.shutdown_spare_s(card(), CONTEXT) == 540.0
    assert shutdown.shutdown_spare_s(card(agents=[agent(1000)]), CONTEXT) == -160.0


def test_agents_whose_outlets_go_off_too_early_are_named() -> None:
    """Group a goes off at 90 s, c at 300 s; an agent without a name goes by its place in the list."""
    late = {"name": "late", **agent(91, "a")}
    record = card(agents=[late, agent(90, "a"), agent(301, "c")])
    assert shutdown.agents_cut_off(record, CONTEXT) == ("late", "agent 3")


def test_outlets_that_no_step_names_go_off_with_the_output() -> None:
    """By hand: 300 for the steps, 60 for the output."""
    assert shutdown.agents_cut_off(card(agents=[agent(360, "z")]), CONTEXT) == ()
    assert shutdown.agents_cut_off(card(agents=[agent(361, "z")]), CONTEXT) == ("agent 1",)


def test_a_step_without_a_known_group_leaves_only_fast_machines_decided() -> None:
    """The first step ends at 50 s and may switch anything: 50 s are safe, 60 are open, 400 are late."""
    steps = [{"step": 1, "delay_s": 50}, {"step": 2, "delay_s": 200, "outlet_group": "a"}]

    def verdict(duration: int) -> object:
        return shutdown.agents_cut_off(card(sequences=steps, agents=[agent(duration, "a")]), CONTEXT)

    assert [verdict(50), verdict(60), verdict(400)] == [(), None, ("agent 1",)]


def test_no_steps_at_all_leave_the_output_delay() -> None:
    """With an empty list the machines have what the output's own delay gives."""
    record = card(sequences=[], agents=[agent(60, "a"), agent(61)])
    assert shutdown.agents_cut_off(record, CONTEXT) == ("agent 2",)


@pytest.mark.parametrize(
    ("secret", "empty", "well_known", "length"),
    [
        ({"clear": "Admin"}, False, True, 5),
        ({"empty": True}, True, False, 0),
        ({"sealed": {"length": 20, "listed": "none"}}, False, False, 20),
        (None, None, None, None),
    ],
)
def test_agent_secrets_are_classed_and_never_told(
    secret: Mapping[str, Any] | None, *, empty: bool | None, well_known: bool | None, length: int | None
) -> None:
    """Facts say what kind of secret it is: truths and a length, nothing else."""
    member = {} if secret is None else {"secret": secret}
    facts = (
        shutdown.agent_secret_is_empty,
        shutdown.agent_secret_is_well_known,
        shutdown.agent_secret_length,
    )
    assert [fact(member, {}, CONTEXT) for fact in facts] == [empty, well_known, length]


def test_an_agents_test_is_counted_in_days() -> None:
    """From 15 September to 25 November 2026 there are 71 days."""
    assert shutdown.agent_test_age_days({"tested_on": "2026-09-15"}, {}, CONTEXT) == 71


STEPS = st.lists(
    st.fixed_dictionaries(
        {"step": st.integers(0, 4), "delay_s": st.integers(0, 40), "outlet_group": st.sampled_from("abc")}
    ),
    max_size=6,
)
AGENTS = st.lists(
    st.fixed_dictionaries(
        {
            "enabled": st.booleans(),
            "shutdown_duration_s": st.integers(0, 120),
            "outlet_group": st.sampled_from("abcd"),
        }
    ),
    max_size=4,
)


def walk(section: Settings) -> tuple[dict[str, int], int]:
    """Walk a shutdown second by second: when each group goes off, and when the output does.

    Written apart from the facts, as somebody with a stopwatch would see it.
    """
    waiting = [dict(step) for step in section["sequences"]]
    off: dict[str, int] = {}
    second = 0
    while waiting:
        now = [step for step in waiting if step["step"] == min(step["step"] for step in waiting)]
        for step in now:
            if step["delay_s"] <= 0:
                off.setdefault(step["outlet_group"], second)
                step["done"] = True
        if all(step.get("done") for step in now):
            waiting = [step for step in waiting if not step.get("done")]
            continue
        second += 1
        for step in now:
            step["delay_s"] -= 1
    return off, second + section["output_off_delay_s"]


@given(STEPS, AGENTS, st.integers(0, 30))
def test_facts_agree_with_a_walk_through_the_shutdown(
    steps: list[Settings], agents: list[Settings], delay: int
) -> None:
    """Groups go off, and agents are cut off, as in a simulation that counts the seconds."""
    record = card(sequences=steps, agents=agents, output_off_delay_s=delay)
    off, end = walk(record["shutdown"])
    late = tuple(
        f"agent {place}"
        for place, member in enumerate(agents, 1)
        if member["enabled"]
        and member["shutdown_duration_s"] > min(off.get(member["outlet_group"], end), end)
    )
    assert shutdown.agents_cut_off(record, CONTEXT) == late
    slowest = max((a["shutdown_duration_s"] for a in agents if a["enabled"]), default=0)
    assert shutdown.shutdown_needed_s(record, CONTEXT) == max(end, slowest + delay)


@given(
    st.floats(0, 60), st.integers(0, 4000), st.floats(0, 60),
)  # fmt: skip
def test_available_time_agrees_with_a_battery_that_runs_down(
    runtime: float, timer: int, at_runtime: float
) -> None:
    """Counting down the battery second by second finds the same start, to the second."""
    record = card(start_after_on_battery_s=timer, start_at_runtime_min=at_runtime)
    record["equipment"]["runtime_min"] = runtime
    left = runtime * 60
    for second in range(ceil(runtime * 60) + 1):
        left = max(runtime * 60 - second, 0)
        if second >= timer or left <= at_runtime * 60:
            break
    available = shutdown.shutdown_available_s(record, CONTEXT)
    assert isinstance(available, float)
    assert abs(available - left) <= 1


CARD_FACTS = (
    shutdown.shutdown_needed_s,
    shutdown.shutdown_available_s,
    shutdown.shutdown_spare_s,
    shutdown.starts_by_timer,
)


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Settings, Settings]:
    """Draw a full record and the same record with less known."""
    full = card(sequences=draw(STEPS), agents=draw(AGENTS))
    return full, thinned(full, draw)


@given(pairs())
def test_knowing_less_gives_the_same_answer_or_none(pair: tuple[Settings, Settings]) -> None:
    """A number that is told from part of a record is the number of the whole."""
    full, part = pair
    for fact in CARD_FACTS:
        assert fact(part, CONTEXT) in (None, fact(full, CONTEXT)), fact.name


@given(pairs())
def test_agents_found_cut_off_with_less_known_are_cut_off(pair: tuple[Settings, Settings]) -> None:
    """What is found from part of a record stands; an empty list is given only if it stays empty."""
    full, part = pair
    found, whole = (_cut_off(shutdown.agents_cut_off, record) for record in (part, full))
    assert whole is not None
    assert found is None or (set(found) <= set(whole) and bool(found) is bool(whole))


def _cut_off(fact: Fact, record: Settings) -> tuple[str, ...] | None:
    value = fact(record, CONTEXT)
    assert value is None or isinstance(value, tuple)
    return value


@pytest.mark.parametrize(
    ("changed", "runtime", "delay"),
    [
        ({}, 20, 1200),
        ({"start_at_runtime_min": 0}, 20, 840),
        ({"start_at_runtime_min": 5.9}, 20, 840),
        ({"start_at_runtime_min": 6}, 20, 1200),
        ({"start_at_runtime_min": 0}, 5, -60),
        ({"start_at_runtime_min": 60}, 5, -60),
        ({"start_at_runtime_min": ...}, 20, None),
        ({"output_off_delay_s": ...}, 20, None),
    ],
)
def test_the_largest_safe_delay_leaves_what_the_shutdown_needs(
    changed: Settings, runtime: float, delay: float | None
) -> None:
    """By hand: 360 s are needed of 1200 s; ten minutes of runtime start it in time by themselves."""
    record = card(**changed)
    record["equipment"]["runtime_min"] = runtime
    assert shutdown.largest_safe_delay_s(record) == delay


@given(STEPS, st.integers(0, 3000), st.integers(0, 12), st.integers(0, 40))
def test_up_to_the_largest_safe_delay_nothing_is_short(
    steps: list[Settings], timer: int, at_runtime: int, runtime: int
) -> None:
    """A timer up to it leaves no second wanting, one beyond it does; the two facts agree."""
    record = card(sequences=steps, start_after_on_battery_s=timer, start_at_runtime_min=at_runtime)
    record["equipment"]["runtime_min"] = runtime
    delay, spare = shutdown.largest_safe_delay_s(record), shutdown.shutdown_spare_s(record, CONTEXT)
    assert delay is not None
    assert isinstance(spare, float)
    assert (spare >= 0) is (min(timer, runtime * 60) <= delay)


def test_power_losses_come_in_order_of_time() -> None:
    """By hand: group a goes at 90 s, group b at 120 s, group c at 300 s, the output at 360 s."""
    agents = [
        agent(400, "x"),
        agent(301, "c"),
        agent(121, "b"),
        agent(91, "a"),
        agent(90, "a"),
        agent(0, "a"),
    ]
    losses = shutdown.power_losses(card(agents=agents))
    assert losses == (
        shutdown.PowerLoss("agent 4", 90, 91),
        shutdown.PowerLoss("agent 3", 120, 121),
        shutdown.PowerLoss("agent 2", 300, 301),
        shutdown.PowerLoss("agent 1", 360, 400),
    )


def test_an_empty_battery_takes_power_from_all() -> None:
    """By hand: ten minutes at 300 s leave 300 s, before the output goes off at 360 s."""
    record = card(agents=[agent(310, "x"), agent(240, "x")], start_at_runtime_min=0)
    record["equipment"]["runtime_min"] = 10
    assert shutdown.power_losses(record) == (shutdown.PowerLoss("agent 1", 300, 310),)


@pytest.mark.parametrize(
    "changed",
    [
        {"agents": ...},
        {"sequences": ...},
        {"start_at_runtime_min": ...},
        {"agents": [agent(9, "a", enabled=None)]},
        {"agents": [agent(None, "a")]},
        {"agents": [agent(99)]},
        {"agents": [agent(9000, "x")], "output_off_delay_s": ...},
    ],
)
def test_power_losses_are_unknown_while_something_is(changed: Settings) -> None:
    """An agent of which too little is known might be the first."""
    assert shutdown.power_losses(card(**changed)) is None


@given(pairs())
def test_less_knowledge_never_misleads_about_delay_and_losses(pair: tuple[Settings, Settings]) -> None:
    """What is told from part of a record is what the whole tells."""
    full, part = pair
    for ask in (shutdown.largest_safe_delay_s, shutdown.power_losses):
        assert ask(part) in (None, ask(full))


@pytest.mark.parametrize("feeds", ["life_safety", "office", None])
@pytest.mark.parametrize("commands", [True, False, None])
def test_a_life_safety_load_is_switchable_only_where_both_are_known(
    *, commands: bool | None, feeds: str | None
) -> None:
    """Commands that are off, or another load, decide alone; else both must be known."""
    record: dict[str, Any] = {}
    if commands is not None:
        record["shutdown"] = {"remote_output_commands": {"enabled": commands}}
    if feeds is not None:
        record["equipment"] = {"feeds": feeds}
    ruled_out = commands is False or feeds == "office"
    known = commands is not None and feeds is not None
    expected = False if ruled_out else True if known else None
    assert shutdown.life_safety_is_switchable(record, CONTEXT) is expected
