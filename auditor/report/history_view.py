"""A history in words and rows for every report: what changed, what is due, how long mending takes.

Holds no format.
"""

from collections.abc import Iterator, Mapping
from datetime import datetime

from auditor.dataclass import dataclass
from auditor.history.card_life import Event
from auditor.history.fate import Fate
from auditor.history.history import CardStanding, DeviationStanding, History, SeriesStanding
from auditor.history.spell import Spell
from auditor.history.survival import Survival
from auditor.history.sweep import Sweep
from auditor.report.verdict import counted
from auditor.scoring.band import Band

BANDS = (Band.CRITICAL, Band.HIGH, Band.MEDIUM, Band.LOW)

EVENTS: Mapping[Event, str] = {
    Event.NEW: "new",
    Event.RETURNED: "returned",
    Event.MENDED: "mended",
    Event.PERSISTING: "persisting",
    Event.FIRST: "first judged",
    Event.LOST: "no longer known",
    Event.WITHDRAWN: "no longer judged",
}
"""What a sweep says of findings, in the order in which people ask."""

_AGES = (
    "The age of a finding runs from the sweep that first found it; + says that it was there when its rule "
    "first judged the card, so it is older than that. A finding counts as mended on the day of the sweep "
    "that saw it so. What is no longer known was not captured again, and what is no longer judged has no "
    "rule any more: neither is mended."
)
_MENDING = (
    "Time to mend is the median by Kaplan and Meier, which counts open findings for as long as they were "
    "seen to last. There is none before half of the findings are mended."
)
NOTES = (_AGES, _MENDING)
"""How ages and times to mend are counted: every report for people says so."""


@dataclass(frozen=True, slots=True)
class Attention:
    """A card that somebody has to see to, and every reason why."""

    card: CardStanding
    reasons: tuple[str, ...]


def day_text(moment: datetime) -> str:
    """Return the day of a moment in UTC."""
    return f"{moment:%Y-%m-%d}"


def series_name(sweep: Sweep, history: History) -> str:
    """Return the name of a sweep's series: its part, and its store where that alone names no other."""
    origins = {each.series.origin for each in history.series}
    same = [each for each in history.series if each.series.part == sweep.part]
    store = f"store {sweep.origin[:8]}" if len(same if sweep.part else origins) > 1 else ""
    return ", ".join(filter(None, (sweep.part, store))) or "estate"


def age_text(spell: Spell, now: datetime) -> str:
    """Return the age of a finding in whole days; ``+`` where it is older than is known."""
    return f"{int(spell.age_days(now))}{'+' if spell.since_before else ''}"


def state_text(spell: Spell) -> str:
    """Return what has become of a finding that nobody knows to be mended, in words."""
    states = [EVENTS[Event.LOST]] if spell.fate is Fate.LOST else []
    if spell.earlier:
        states.append(_returned(spell))
    if spell.finding.accepted:
        states.append("accepted")
    return ", ".join(states) or "open"


def move_text(spell: Spell) -> str:
    """Return what the last sweep of its part said of a finding for the first time, in words."""
    if spell.fate is Fate.OPEN:
        return _returned(spell) if spell.earlier else EVENTS[Event.NEW]
    return _MOVES[spell.fate]


def _returned(spell: Spell) -> str:
    return "returned again" if spell.earlier > 1 else EVENTS[Event.RETURNED]


_MOVES: Mapping[Fate, str] = {
    Fate.MENDED: EVENTS[Event.MENDED],
    Fate.LOST: EVENTS[Event.LOST],
    Fate.WITHDRAWN: EVENTS[Event.WITHDRAWN],
}


def median_text(survival: Survival) -> str:
    """Return the median time to mend, in words."""
    median = survival.median_days
    if median is not None:
        return f"{median:.10g} {'day' if median == 1 else 'days'}"
    return "not known yet" if survival.findings else "-"


def attention(history: History) -> tuple[Attention, ...]:
    """Return the cards that are missing, overdue, stale or new: those with most reasons first."""
    found = [Attention(card, tuple(_reasons(card, history.as_of))) for card in history.cards]
    found = [each for each in found if each.reasons]
    return tuple(sorted(found, key=lambda each: (_weight(each.card), each.card.result.card)))


def _weight(card: CardStanding) -> tuple[bool, bool, bool]:
    return (card.missed is None, not card.is_overdue, not card.is_stale)


def _reasons(card: CardStanding, now: datetime) -> Iterator[str]:
    if card.missed:
        yield f"missing since {day_text(card.missed)}"
    if card.is_overdue and card.due:
        yield f"overdue by {counted(max(1, (now - card.due).days), 'day')}"
    if card.missed:
        return  # that its capture is old as well is no news
    if card.is_stale and card.capture_age_days is not None:
        yield f"captured {int(card.capture_age_days)} days ago"
    elif card.capture_age_days is None:
        yield "capture not dated"
    if card.is_new:
        yield f"new on {day_text(card.first_seen)}"


def calendar_text(each: SeriesStanding, history: History) -> str:
    """Return when the next sweep of a series is due, in words."""
    name, last = series_name(each.last, history), f"last swept {day_text(each.last.as_of)}"
    if each.last.unusable:
        last += f", without {counted(each.last.unusable, 'record')} that could not be used"
    if each.due is None:
        return f"{name}: {last}; no calendar"
    every = f"every {each.last.every_days:.10g} days"
    if each.is_overdue:
        late = counted(max(1, (history.as_of - each.due).days), "day")
        return f"{name}: {last}, {every}; OVERDUE by {late}"
    return f"{name}: {last}, {every}; next due {day_text(each.due)}"


def deviation_text(standing: DeviationStanding) -> str:
    """Return when a deviation ends, in words."""
    if standing.days_left < 0:
        return f"ended {counted(-standing.days_left, 'day')} ago"
    return f"ends in {counted(standing.days_left, 'day')}" + (
        ", before the next sweep" if standing.is_near else ""
    )


def operator_of(history: History) -> str:
    """Return who operates the estate, as the last sweep that says so; empty where none does."""
    return next((point.sweep.operator for point in reversed(history.points) if point.sweep.operator), "")


def cards_change(history: History) -> int:
    """Return how many cards more the last sweep covers than the one before: other cards, another score."""
    before = history.points[-2:][0].whole.cards
    return history.now.whole.cards - before


def score_change(history: History) -> float | None:
    """Return by how many points the estate's score moved since the sweep before the last; None if untold."""
    if len(history.points) < 2:  # noqa: PLR2004 - a change is between two
        return None
    before, now = history.points[-2].whole.percent, history.now.whole.percent
    return None if before is None or now is None else now - before
