"""The history of an estate as of a moment: its trend, its findings over time, its cards, its calendar."""

import sqlite3
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta

from auditor.dataclass import dataclass, replace
from auditor.facts.moment import moment_of
from auditor.history.card_life import CardLife
from auditor.history.card_result import CardResult
from auditor.history.chronicle import Chronicle, SweepPoint
from auditor.history.fate import Fate
from auditor.history.reading import Results, stored_sweeps
from auditor.history.spell import Spell
from auditor.history.survival import Survival, survival_of
from auditor.history.sweep import KeptDeviation, Series, Sweep
from auditor.scoring.band import Band

_DAY = timedelta(days=1)
_NEAR_DAYS = 90
"""A deviation that ends within so many days is near its end, where no calendar says otherwise."""


@dataclass(frozen=True, slots=True)
class CardStanding:
    """A card as it was seen last.

    ``trend`` holds its results from each change on. ``missed`` is the first sweep of its series that
    did not see it, None while it is there. ``capture_age_days`` is None where the record does
    not say when it was taken; ``is_stale`` where that is longer ago than the rules allow.
    ``due`` is when the next sweep should see it, None without a calendar.
    """

    result: CardResult
    trend: tuple[tuple[datetime, CardResult], ...]
    first_seen: datetime
    last_seen: datetime
    missed: datetime | None
    is_new: bool
    capture_age_days: float | None
    is_stale: bool
    due: datetime | None
    is_overdue: bool


@dataclass(frozen=True, slots=True)
class SeriesStanding:
    """The last sweep of a series; ``due`` is when the next should be, None without a calendar."""

    series: Series
    last: Sweep
    sweeps: int
    due: datetime | None
    is_overdue: bool


@dataclass(frozen=True, slots=True)
class DeviationStanding:
    """A deviation of the last sweeps; ``days_left`` is 0 on its last day, negative after that.

    ``is_near`` where it ends before the next sweep is due, or has ended.
    """

    deviation: KeptDeviation
    days_left: int
    is_near: bool


@dataclass(frozen=True, slots=True)
class History:
    """Everything that the sweeps of a store say, as of a moment.

    ``points`` are in the order of time. ``spells`` stand: open ones first, then worst first,
    then oldest. ``moves`` are those that the last sweep of their series began, ended or lost, in
    the same order; what was there when its rule first judged is no move. ``cards`` by id.
    ``mending`` is the time to mend by band, worst first; ``mending_of_all`` that of all findings.
    """

    as_of: datetime
    points: tuple[SweepPoint, ...]
    series: tuple[SeriesStanding, ...]
    spells: tuple[Spell, ...]
    moves: tuple[Spell, ...]
    cards: tuple[CardStanding, ...]
    mending: Mapping[Band, Survival]
    mending_of_all: Survival
    deviations: tuple[DeviationStanding, ...]

    @property
    def now(self) -> SweepPoint:
        """Return the last point: how the estate stands."""
        return self.points[-1]


def history_of(connection: sqlite3.Connection, as_of: datetime) -> History | None:
    """Return the history in a store as of a moment; None where no sweep is that old."""
    held = [each for each in stored_sweeps(connection) if each.sweep.as_of <= as_of]
    if not held:
        return None
    chronicle, results = Chronicle(), Results(connection)
    points = tuple(chronicle.take(each.sweep, results.of(each.number)) for each in held)
    return history_from(chronicle, points, as_of)


def history_from(chronicle: Chronicle, points: Sequence[SweepPoint], as_of: datetime) -> History:
    """Return the history that a walked chronicle tells, as of a moment; it has a point at least."""
    series = {each.series: each for each in _series(points, as_of)}
    spells = [spell for life in chronicle.cards.values() for spell in life.spells()]
    moves = (spell for life in chronicle.cards.values() for spell in _moves(life, series[life.series].last))
    cards = [_standing(life, chronicle, series[life.series], as_of) for life in chronicle.cards.values()]
    return History(
        as_of,
        tuple(points),
        tuple(series.values()),
        tuple(sorted(spells, key=_worst_first)),
        tuple(sorted(moves, key=_worst_first)),
        tuple(sorted(cards, key=_by_id)),
        _mending_by_band(spells),
        survival_of(spell.lifetime for spell in spells),
        tuple(_deviations(series.values(), as_of)),
    )


def _moves(life: CardLife, last: Sweep) -> Iterator[Spell]:
    for spell in life.spells():
        begun = spell.opened == spell.since and not spell.since_before
        if spell.since == last.as_of and (begun or spell.fate is not Fate.OPEN):
            yield spell


def _mending_by_band(spells: Sequence[Spell]) -> Mapping[Band, Survival]:
    """Return how long mending takes, worst band first; findings at 0.0 only where there are any."""
    by_band = {band: [spell for spell in spells if spell.finding.band is band] for band in Band}
    return {
        band: survival_of(spell.lifetime for spell in by_band[band])
        for band in sorted(Band, reverse=True)
        if band is not Band.NONE or by_band[band]
    }


def _worst_first(spell: Spell) -> tuple[object, ...]:
    finding = spell.finding
    return (not spell.is_open, -finding.severity, spell.opened, spell.card, finding.rule, finding.member)


def _by_id(card: CardStanding) -> str:
    return card.result.card


def _series(points: Sequence[SweepPoint], as_of: datetime) -> Iterator[SeriesStanding]:
    last: dict[Series, list[Sweep]] = {}
    for point in points:
        last.setdefault(point.sweep.series, []).append(point.sweep)
    for series, sweeps in last.items():
        due = _due(sweeps[-1].as_of, sweeps[-1])
        yield SeriesStanding(series, sweeps[-1], len(sweeps), due, _is_past(due, as_of))


def _due(seen: datetime, sweep: Sweep) -> datetime | None:
    return None if sweep.every_days is None else seen + timedelta(days=sweep.every_days)


def _is_past(due: datetime | None, as_of: datetime) -> bool:
    return due is not None and as_of > due


def _standing(life: CardLife, chronicle: Chronicle, series: SeriesStanding, as_of: datetime) -> CardStanding:
    taken = moment_of(life.result.taken_at or None)
    age = None if taken is None else (as_of - taken) / _DAY
    most, due = series.last.capture_age_maximum_days, _due(life.last_seen, series.last)
    return CardStanding(
        life.result,
        tuple(life.trend),
        life.first_seen,
        life.last_seen,
        life.missed,
        chronicle.is_new(life),
        age,
        age is not None and most is not None and age > most,
        due,
        _is_past(due, as_of),
    )


def _deviations(series: Iterable[SeriesStanding], as_of: datetime) -> Iterator[DeviationStanding]:
    """Yield the deviations of the last sweeps, each once, those that end first first."""
    found: dict[KeptDeviation, datetime] = {}
    covered: Counter[KeptDeviation] = Counter()
    for each in series:
        for deviation in each.last.deviations:
            alone = replace(deviation, findings=0)
            until = each.due or as_of + timedelta(days=_NEAR_DAYS)
            found[alone] = max(until, found.get(alone, until))
            covered[alone] += deviation.findings
    for alone in sorted(found, key=_first_to_end):
        left = (alone.expires - as_of.date()).days
        near = left < 0 or alone.expires < found[alone].date()
        yield DeviationStanding(replace(alone, findings=covered[alone]), left, near)


def _first_to_end(deviation: KeptDeviation) -> tuple[object, ...]:
    return (deviation.expires, deviation.rule, deviation.cards, deviation.member)
