"""A sweep against the one before it in its series: cards and findings that came, went and stayed."""

import sqlite3
from collections import Counter
from collections.abc import Mapping
from datetime import datetime

from auditor.dataclass import dataclass
from auditor.history.card_result import CardResult
from auditor.history.fate import Fate, Sighting
from auditor.history.reading import Results, stored_sweeps
from auditor.history.sweep import Sweep


@dataclass(frozen=True, slots=True)
class Changes:
    """What changed since a sweep: findings on the cards that both saw, and cards that one saw.

    ``fates`` counts what has become of the findings that were known then.
    """

    since: datetime
    new: int
    fates: Mapping[Fate, int]
    new_cards: tuple[str, ...]
    missing_cards: tuple[str, ...]


def changes_of(connection: sqlite3.Connection, sweep: Sweep) -> Changes | None:
    """Return what changed from the sweep before one, in its series, to it; None for the first."""
    series = [stored for stored in stored_sweeps(connection) if stored.sweep.series == sweep.series]
    place = next(place for place, stored in enumerate(series) if stored.sweep.id == sweep.id)
    if not place:
        return None
    results = Results(connection)
    earlier, later = series[place - 1 : place + 1]
    return changes_between(
        earlier.sweep, results.by_card(earlier.number), later.sweep, results.by_card(later.number)
    )


def changes_between(
    earlier: Sweep, before: Mapping[str, CardResult], later: Sweep, after: Mapping[str, CardResult]
) -> Changes:
    """Return what changed from one sweep to a later one; results are by card id."""
    fates: Counter[Fate] = Counter()
    new = 0
    for card_id in before.keys() & after.keys():
        known = {finding.key for finding in before[card_id].findings}
        sighting = Sighting(after[card_id], later.rules)
        new += len(sighting.found.keys() - known)
        fates.update(map(sighting.fate_of, known))
    return Changes(
        earlier.as_of,
        new,
        fates,
        tuple(sorted(after.keys() - before.keys())),
        tuple(sorted(before.keys() - after.keys())),
    )
