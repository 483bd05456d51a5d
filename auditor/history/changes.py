"""A sweep against the one before it in its series: cards and findings that came, went and stayed."""

import sqlite3
from collections import Counter
from collections.abc import Mapping
from datetime import datetime

from auditor.dataclass import dataclass
from auditor.history.fate import Fate, Sighting
from auditor.history.reading import Results, bodies_of, stored_sweeps
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


def changes_of(connection: sqlite3.Connection, sweep: Sweep, findings: int) -> Changes | None:
    """Return what changed from the sweep before one, in its series, to it; None for the first.

    ``findings`` are those of all its cards. Only results that differ are read: a card with the
    same result has the same findings.
    """
    series = [stored for stored in stored_sweeps(connection) if stored.sweep.series == sweep.series]
    place = next(place for place, stored in enumerate(series) if stored.sweep.id == sweep.id)
    if not place:
        return None
    earlier, later = (dict(bodies_of(connection, each.number)) for each in series[place - 1 : place + 1])
    results = Results(connection)
    new_cards, missing = sorted(later.keys() - earlier.keys()), sorted(earlier.keys() - later.keys())
    fates: Counter[Fate] = Counter()
    new = 0
    for card_id in earlier.keys() & later.keys():
        if earlier[card_id] != later[card_id]:
            known = {finding.key for finding in results.read(earlier[card_id]).findings}
            sighting = Sighting(results.read(later[card_id]), sweep.rules)
            new += len(sighting.found.keys() - known)
            fates.update(map(sighting.fate_of, known))
    on_new_cards = sum(len(results.read(later[card_id]).findings) for card_id in new_cards)
    fates[Fate.OPEN] = findings - on_new_cards - new
    return Changes(series[place - 1].sweep.as_of, new, fates, tuple(new_cards), tuple(missing))
