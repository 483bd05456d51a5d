"""The history as one HTML page: nothing fetched, only its own style allowed to act, no script."""

from collections.abc import Mapping, Sequence
from datetime import datetime
from typing import TYPE_CHECKING, BinaryIO

from auditor.dataclass import dataclass
from auditor.history.card_life import Event
from auditor.history.fate import Fate
from auditor.history.history import CardStanding, History
from auditor.history.spell import Spell
from auditor.history.standing import Standing, coverage_of, percent_of
from auditor.report import history_view
from auditor.report.html.asset import asset
from auditor.report.html.page import policy
from auditor.report.html.plot import Plot, findings_plot, mending_plot, score_plot, sparkline

if TYPE_CHECKING:
    from auditor.scoring.band import Band

_SHOWN_FINDINGS = 200
_SHOWN_CARDS = 200
_ALWAYS = {Event.NEW, Event.RETURNED, Event.MENDED, Event.PERSISTING}
_PIECES_AT_ONCE = 512


@dataclass(frozen=True, slots=True)
class GroupRow:
    """A group now, as it was after the first sweep that knew it, and its score on the way."""

    name: str
    now: Standing
    before: Standing
    spark: str


@dataclass(frozen=True, slots=True)
class CardRow:
    """A card, its score and coverage in percent, and its score on the way."""

    standing: CardStanding
    percent: float | None
    coverage_percent: float | None
    worst: "Band"
    spark: str


def write_history_page(history: History, stream: BinaryIO) -> None:
    """Write the page."""
    from auditor.report.html.template import page_template  # slow import, for this format only

    style = asset("style.css") + asset("history.css")
    pieces = page_template(asset("history.html.j2")).stream(
        history=history, page=HistoryPage(history), words=history_view,
        style=style, policy=policy(style),
    )  # fmt: skip
    pieces.enable_buffering(_PIECES_AT_ONCE)
    stream.writelines(piece.encode() for piece in pieces)


class HistoryPage:
    """What the template asks of a history; ``shown`` is how many findings of a change it shows."""

    shown = 100

    def __init__(self, history: History) -> None:
        """Take a history."""
        self._history = history
        self._first, self._last = history.points[0].sweep.as_of, history.now.sweep.as_of

    @property
    def plots(self) -> Sequence[tuple[str, str, Plot]]:
        """Return the plots, each with its title and the name of its axis."""
        points = self._history.points
        mending = mending_plot(self._history.mending)
        return [
            ("Score and coverage", "percent, after each sweep", score_plot(points)),
            ("Open findings by severity", "findings, after each sweep", findings_plot(points)),
            *([("Time to mend", "still open, by days since found", mending)] if mending else []),
        ]

    @property
    def is_held(self) -> bool:
        """Return whether the last sweep of some part was held."""
        return any(each.last.held for each in self._history.series)

    @property
    def told_events(self) -> Mapping[Event, str]:
        """Return the events that have a column: those that people ask for, and others that there are."""
        there = {event for point in self._history.points for event, number in point.events.items() if number}
        return {event: name for event, name in history_view.EVENTS.items() if event in _ALWAYS | there}

    @property
    def open_findings(self) -> Sequence[Spell]:
        """Return the worst open findings, as many as are shown."""
        return self.all_open[:_SHOWN_FINDINGS]

    @property
    def all_open(self) -> Sequence[Spell]:
        """Return all open findings."""
        return [spell for spell in self._history.spells if spell.is_open]

    @property
    def moves(self) -> Sequence[tuple[str, Sequence[Spell]]]:
        """Return what the last sweep changed: findings that began and those that ended, titled."""
        moves = self._history.moves
        return [
            ("New", [spell for spell in moves if spell.fate is Fate.OPEN]),
            ("Mended, or known no longer", [spell for spell in moves if spell.fate is not Fate.OPEN]),
        ]

    @property
    def returned(self) -> Sequence[Spell]:
        """Return the open findings that were mended before."""
        return [spell for spell in self.all_open if spell.earlier]

    @property
    def missing(self) -> frozenset[str]:
        """Return the ids of the cards that the last sweep of their series missed."""
        return frozenset(card.result.card for card in self._history.cards if card.missed)

    def groups(self, grouping: str) -> Sequence[GroupRow]:
        """Return the groups of a grouping, lowest score first."""
        rows = [self._group(grouping, name, now) for name, now in self._history.now.groups[grouping].items()]
        return sorted(rows, key=lambda row: (101.0 if row.now.percent is None else row.now.percent, row.name))

    @property
    def cards(self) -> Sequence[CardRow]:
        """Return the cards with the lowest scores, as many as are shown."""
        rows = [self._card(card) for card in self._history.cards]
        return sorted(rows, key=lambda row: 101.0 if row.percent is None else row.percent)[:_SHOWN_CARDS]

    def _group(self, grouping: str, name: str, now: Standing) -> GroupRow:
        known = [
            (point.sweep.as_of, point.groups[grouping][name])
            for point in self._history.points
            if name in point.groups[grouping]
        ]
        spark = self._spark([(moment, standing.percent) for moment, standing in known])
        return GroupRow(name, now, known[0][1], spark)

    def _card(self, card: CardStanding) -> CardRow:
        spark = self._spark([(moment, percent_of(result)) for moment, result in card.trend])
        result = card.result
        return CardRow(card, percent_of(result), coverage_of(result), result.worst, spark)

    def _spark(self, values: Sequence[tuple[datetime, float | None]]) -> str:
        return sparkline(values, self._first, self._last)
