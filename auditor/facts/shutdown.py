"""Facts: whether machines are down before the battery is empty, and how agents prove themselves.

The model of a shutdown, simple on purpose and stated wherever it is used:

1. Mains fails at 0. The shutdown starts when ``start_after_on_battery_s`` has passed, or when
   the remaining runtime has fallen to ``start_at_runtime_min``, whichever comes first.
2. At the start every enabled agent is told; each machine then needs its ``shutdown_duration_s``.
3. The steps run in order of their numbers. Those of one number start together, and the next
   number starts when the longest has ended. A step waits its ``delay_s``, then switches off
   its outlet group.
4. When the last step has ended, ``output_off_delay_s`` runs, and the whole output goes off:
   with it go the outlet groups that no step names.
5. What is needed of the battery is the longer of all steps and the slowest machine, plus
   ``output_off_delay_s``: a machine slower than the steps is granted the same pause.

It assumes a runtime that falls second by second, as at constant load. Batteries age and loads
grow: that is what the margin in the rules is for. It replaces no test of the installation.
"""

from collections.abc import Mapping
from math import inf
from typing import NamedTuple

from auditor.facts.calendar_day import days_since
from auditor.facts.fact import Context, Settings, fact
from auditor.facts.secret_class import is_common, is_empty, is_well_known, length_of

_EMPTY: Settings = {}
_MODEL = "common practice, no source: the model in the head of auditor/facts/shutdown.py"


@fact(
    reads=["/shutdown/sequences", "/shutdown/agents", "/shutdown/output_off_delay_s"],
    source=_MODEL,
    unit="s",
)
def shutdown_needed_s(record: Settings, _context: Context) -> int | None:
    """Count the seconds from the start of the shutdown until the output may go off.

    The longer of the steps (of each step number the longest delay, added up) and the slowest
    enabled agent, plus the output's own delay.
    """
    shutdown = record.get("shutdown", _EMPTY)
    steps = _steps_s(shutdown.get("sequences"))
    delay: int | None = shutdown.get("output_off_delay_s")
    if steps is None or delay is None:
        return None
    slowest = _slowest_agent_s(shutdown.get("agents"), steps)
    return None if slowest is None else max(steps, slowest) + delay


@fact(
    reads=["/shutdown/remote_output_commands/enabled", "/equipment/feeds"],
    source="common practice, no source",
)
def life_safety_is_switchable(record: Settings, _context: Context) -> bool | None:
    """Tell whether the output of a life-safety load can be switched over the network."""
    commands = record.get("shutdown", _EMPTY).get("remote_output_commands", _EMPTY).get("enabled")
    feeds = record.get("equipment", _EMPTY).get("feeds")
    if commands is False or feeds not in (None, "life_safety"):
        return False
    return True if commands and feeds else None


@fact(
    reads=["/shutdown/start_after_on_battery_s", "/shutdown/no_battery_timer"],
    source=_MODEL,
)
def starts_by_timer(record: Settings, _context: Context) -> bool | None:
    """Tell whether a time on battery starts the shutdown; both said at once is unknown."""
    return _has_timer(record.get("shutdown", _EMPTY))


@fact(
    reads=["/equipment/runtime_min", "/shutdown/start_after_on_battery_s", "/shutdown/no_battery_timer",
           "/shutdown/start_at_runtime_min"],
    source=_MODEL,
    unit="s",
)  # fmt: skip
def shutdown_available_s(record: Settings, _context: Context) -> float | None:
    """Count the seconds of battery that are left when the shutdown starts.

    Runtime less the timer, or the runtime at which the shutdown starts if that leaves more;
    never more than the whole runtime.
    """
    shutdown = record.get("shutdown", _EMPTY)
    runtime = record.get("equipment", _EMPTY).get("runtime_min")
    at_runtime = shutdown.get("start_at_runtime_min")
    if runtime is None or at_runtime is None or _has_timer(shutdown) is None:
        return None
    left_by_timer = runtime * 60 - shutdown.get("start_after_on_battery_s", runtime * 60)
    return float(max(left_by_timer, min(runtime, at_runtime) * 60))


@fact(
    reads=["/equipment/runtime_min", "/shutdown/sequences", "/shutdown/agents",
           "/shutdown/output_off_delay_s", "/shutdown/start_after_on_battery_s",
           "/shutdown/no_battery_timer", "/shutdown/start_at_runtime_min"],
    source=_MODEL,
    unit="s",
)  # fmt: skip
def shutdown_spare_s(record: Settings, context: Context) -> float | None:
    """Count the seconds of battery that are left when everything is down; negative if too late."""
    available = shutdown_available_s.compute(record, context)
    needed = shutdown_needed_s.compute(record, context)
    if not isinstance(available, float) or not isinstance(needed, int):
        return None
    return available - needed


@fact(
    reads=["/shutdown/agents", "/shutdown/sequences", "/shutdown/output_off_delay_s"],
    source=_MODEL,
)
def agents_cut_off(record: Settings, _context: Context) -> tuple[str, ...] | None:
    """List the enabled agents whose outlets go off before their machine is down.

    Without a name an agent is called by its place in the list, from 1. Some known is enough
    to answer; the list is empty only when every agent is known to be down in time.
    """
    shutdown = record.get("shutdown", _EMPTY)
    agents = shutdown.get("agents")
    if agents is None:
        return None
    times = _off_times(shutdown)
    verdicts = [_is_cut_off(agent, times) for agent in agents]
    if True not in verdicts:
        return None if None in verdicts else ()
    return tuple(_called(agents[place], place) for place, verdict in enumerate(verdicts) if verdict)


@fact(reads=["/secret"], source="common practice, no source", about="/shutdown/agents")
def agent_secret_is_empty(member: Settings, _record: Settings, _context: Context) -> bool | None:
    """Tell whether the secret shared with the agent is the empty text."""
    return is_empty(member.get("secret"))


@fact(reads=["/secret"], source="common practice, no source", about="/shutdown/agents")
def agent_secret_is_well_known(member: Settings, _record: Settings, context: Context) -> bool | None:
    """Tell whether the secret shared with the agent is a well-known word."""
    return is_well_known(member.get("secret"), context)


@fact(reads=["/secret"], source="NIST SP 800-63B (revision 3) section 5.1.1.2", about="/shutdown/agents")
def agent_secret_is_common(member: Settings, _record: Settings, context: Context) -> bool | None:
    """Tell whether the secret shared with the agent stands in the frequency lists, and is not well known."""
    return is_common(member.get("secret"), context)


@fact(reads=["/secret"], source="common practice, no source", unit="characters", about="/shutdown/agents")
def agent_secret_length(member: Settings, _record: Settings, _context: Context) -> int | None:
    """Count the characters of the secret shared with the agent."""
    return length_of(member.get("secret"))


@fact(
    reads=["/tested_on"],
    source="common practice, no source",
    unit="days",
    about="/shutdown/agents",
    by_day=True,
)
def agent_test_age_days(member: Settings, _record: Settings, context: Context) -> int | None:
    """Count the days since a shutdown through this agent was proved."""
    return days_since(member.get("tested_on"), context)


def _steps_s(sequences: list[Settings] | None) -> int | None:
    """Return how long all steps take; None where a number or delay is not captured."""
    longest = _longest_of_steps(sequences)
    return None if longest is None else sum(longest.values())


def _longest_of_steps(sequences: list[Settings] | None) -> dict[int, int] | None:
    """Return the longest delay of each step number, in seconds."""
    if sequences is None:
        return None
    longest: dict[int, int] = {}
    for step in sequences:
        number, delay = step.get("step"), step.get("delay_s")
        if number is None or delay is None:
            return None
        if delay >= longest.get(number, 0):
            longest[number] = delay
    return longest


def _slowest_agent_s(agents: list[Settings] | None, steps: int) -> int | None:
    """Return how long the slowest enabled agent takes; 0 where there is none.

    Where it is not captured whether an agent is enabled, it matters only if it would be
    slower than the enabled ones and the steps.
    """
    if agents is None:
        return None
    slowest = doubtful = 0
    for agent in agents:
        enabled = agent.get("enabled")
        duration = 0 if enabled is False else agent.get("shutdown_duration_s", inf)
        if enabled:
            slowest = max(slowest, duration)
        else:
            doubtful = max(doubtful, duration)
    return None if slowest == inf or doubtful > max(slowest, steps) else slowest


class _OffTimes(NamedTuple):
    """When outlet groups go off, in seconds after the start of the shutdown.

    ``groups`` are those that steps name; ``unnamed`` is the earliest step whose group is not
    captured; ``first`` is the earliest of all; ``last`` is when the output goes off, at the
    earliest and at the latest.
    """

    groups: Mapping[str, int]
    unnamed: float
    first: float
    last: tuple[float, float]

    def of(self, group: str | None) -> tuple[float, float]:
        """Return the earliest and the latest moment at which a group may go off."""
        if group is None:
            return self.first, self.last[1]
        earliest, latest = self.last if group not in self.groups else (self.groups[group],) * 2
        return min(earliest, self.unnamed), latest


def _off_times(shutdown: Settings) -> _OffTimes | None:
    sequences = shutdown.get("sequences")
    longest = _longest_of_steps(sequences)
    if sequences is None or longest is None:
        return None
    begin, unnamed = _begin_of_steps(longest), inf
    groups: dict[str, int] = {}
    for step in sequences:
        moment = begin[step["step"]] + step["delay_s"]
        group = step.get("outlet_group")
        if group is None:
            unnamed = min(unnamed, moment)
        elif moment <= groups.get(group, moment):
            groups[group] = moment
    steps, delay = sum(longest.values()), shutdown.get("output_off_delay_s")
    last = (steps + (delay or 0), inf if delay is None else steps + delay)
    return _OffTimes(groups, unnamed, min(unnamed, last[0], *groups.values()), last)


def _begin_of_steps(longest: Mapping[int, int]) -> dict[int, int]:
    begin, passed = {}, 0
    for number in sorted(longest):
        begin[number] = passed
        passed += longest[number]
    return begin


def _is_cut_off(agent: Settings, times: _OffTimes | None) -> bool | None:
    """Tell whether an agent is enabled and its outlets go off too early."""
    enabled, duration = agent.get("enabled"), agent.get("shutdown_duration_s")
    if enabled is False or duration == 0:
        return False
    if times is None or duration is None:
        return None
    earliest, latest = times.of(agent.get("outlet_group"))
    if duration <= earliest:
        return False
    return True if enabled and duration > latest else None


def _called(agent: Settings, place: int) -> str:
    name: str = agent.get("name", f"agent {place + 1}")
    return name


def _has_timer(shutdown: Settings) -> bool | None:
    given = "start_after_on_battery_s" in shutdown
    return None if given is ("no_battery_timer" in shutdown) else given


def largest_safe_delay_s(record: Settings) -> float | None:
    """Return the longest time on battery after which a shutdown still ends before the battery does.

    Negative where even a shutdown at once is too late. Where the remaining runtime starts it in
    time, no timer is too long: then it is the whole runtime. No margin is taken off.
    """
    runtime = record.get("equipment", _EMPTY).get("runtime_min")
    at_runtime = record.get("shutdown", _EMPTY).get("start_at_runtime_min")
    needed = shutdown_needed_s.compute(record, None)
    if runtime is None or at_runtime is None or not isinstance(needed, int):
        return None
    whole = float(runtime * 60)
    return whole if min(runtime, at_runtime) * 60 >= needed else whole - needed


class PowerLoss(NamedTuple):
    """A machine that loses power before it is down, in seconds after the start of the shutdown."""

    agent: str
    after_s: float
    needed_s: int


def power_losses(record: Settings) -> tuple[PowerLoss, ...] | None:
    """Return the machines that lose power too early, the first of them first; ties by their place.

    Power goes with the outlet group, with the whole output, or with the battery. None while
    anything of that is unknown.
    """
    shutdown = record.get("shutdown", _EMPTY)
    available = shutdown_available_s.compute(record, None)
    times = _off_times(shutdown)
    if "agents" not in shutdown or times is None or not isinstance(available, float):
        return None
    losses = [_loss(agent, place, times, available) for place, agent in enumerate(shutdown["agents"])]
    if None in losses:
        return None
    late = [loss for loss in losses if loss and loss.after_s < loss.needed_s]
    return tuple(sorted(late, key=lambda loss: loss.after_s))


def _loss(agent: Settings, place: int, times: _OffTimes, available: float) -> PowerLoss | None:
    """Return when an agent's machine loses power; one that is off needs no time."""
    enabled, needed = agent.get("enabled"), agent.get("shutdown_duration_s")
    if enabled is False or needed == 0:
        return PowerLoss(_called(agent, place), 0.0, 0)
    earliest, latest = times.of(agent.get("outlet_group"))
    if enabled is None or needed is None or min(earliest, available) != min(latest, available):
        return None
    return PowerLoss(_called(agent, place), min(earliest, available), needed)
