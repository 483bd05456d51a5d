"""Which single change closes the most ways to switch outputs."""

import copy
import json
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from auditor.facts.fact import Context
from auditor.facts.reach.closing import closings
from auditor.facts.reach.ways import switching, ways
from auditor.record.pointer import split

CONTEXT = Context(datetime(2026, 11, 25, tzinfo=UTC))
COMPLIANT: dict[str, Any] = json.loads(Path("fixtures/cards/compliant.json").read_text("utf-8"))


def sure(record: dict[str, Any]) -> int:
    """Count the ways that are surely open and surely switch."""
    found = switching(ways(record, CONTEXT))
    return sum(1 for way in found if way.is_open and way.switches)


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
    """Carried out on the record, a change takes away exactly the ways that it counts."""
    before = sure(COMPLIANT)
    found = closings(ways(COMPLIANT, CONTEXT))
    assert found
    assert {c.pointer: before - sure(with_off(c.pointer)) for c in found} == {
        c.pointer: c.closes for c in found
    }
