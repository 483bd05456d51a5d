"""Which single change closes the most ways to switch outputs."""

import copy
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from auditor.facts.fact import Context
from auditor.facts.reach.closing import closings
from auditor.facts.reach.way import Origin, Place
from auditor.facts.reach.ways import switching, ways
from auditor.record.pointer import split

CONTEXT = Context(datetime(2026, 11, 25, tzinfo=UTC))
COMPLIANT: dict[str, Any] = json.loads(Path("fixtures/cards/compliant.json").read_text("utf-8"))


def sure(record: dict[str, Any]) -> list[tuple[str, str]]:
    """Return over what and by whom the ways go that are surely open and surely switch."""
    return [(way.channel, way.party) for way in ways(record, CONTEXT) if way.is_open and way.switches]


def still_perhaps(record: dict[str, Any], before: list[tuple[str, str]]) -> int:
    """Count those of some ways that are there still, but are no longer known to switch."""
    found = switching(ways(record, CONTEXT))
    unsure = [(way.channel, way.party) for way in found if not (way.is_open and way.switches)]
    return sum(way in unsure for way in before)


def with_off(pointer: str) -> dict[str, Any]:
    """Return the compliant record with one setting set to false."""
    record = copy.deepcopy(COMPLIANT)
    *path, last = split(pointer)
    place: Any = record
    for token in path:
        place = place[int(token)] if isinstance(place, list) else place[token]
    place[last] = False
    return record


def test_each_change_closes_as_many_ways_as_it_says() -> None:
    """Carried out on the record, a change takes away exactly the ways that it counts; others may stay."""
    before = sure(COMPLIANT)
    found = closings(ways(COMPLIANT, CONTEXT))
    assert found
    for closing in found:
        after = with_off(closing.pointer)
        unsure = still_perhaps(after, before)
        assert (closing.unsure, closing.closes) == (unsure, len(before) - len(sure(after)) - unsure), closing


def test_of_two_changes_that_close_as_many_the_one_that_shuts_nobody_out_comes_first() -> None:
    """To switch an account off is not offered where not to take commands does as much."""
    way = next(way for way in ways(COMPLIANT, CONTEXT) if way.is_open and way.switches)
    both = way._replace(settings=("/accounts/0/enabled", "/shutdown/remote_output_commands/enabled"))
    assert [closing.shuts_out for closing in closings([both._replace(origin=Origin(Place.NETWORK))])] == [
        False, True,
    ]  # fmt: skip


def test_what_the_console_takes_is_not_closed_over_the_network() -> None:
    """Without output commands over the network the ways at the serial console are unsure, not closed."""
    record = copy.deepcopy(COMPLIANT)
    record["services"]["serial_console"] = {"enabled": True, "requires_login": False}
    (commands,) = (c for c in closings(ways(record, CONTEXT)) if c.pointer.startswith("/shutdown/"))
    assert commands.unsure == sum(channel == "serial_console" for channel, _ in sure(record)) > 0
    alone = [way for way in ways(record, CONTEXT) if way.channel == "serial_console"]
    assert "/shutdown/remote_output_commands/enabled" not in [c.pointer for c in closings(alone)]
