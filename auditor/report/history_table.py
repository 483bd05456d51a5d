"""A history as a report for a terminal: how the estate stands, what is due, what is open, what it takes."""

import shlex
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from itertools import groupby, islice

from auditor.history.card_life import Event
from auditor.history.chronicle import SweepPoint
from auditor.history.fate import Fate
from auditor.history.history import History
from auditor.history.spell import Spell
from auditor.history.standing import Standing
from auditor.history.survival import Survival
from auditor.report.figures import bands_text, percent_text
from auditor.report.history_view import (
    NOTES,
    age_text,
    attention,
    calendar_text,
    cards_change,
    day_text,
    deviation_text,
    median_text,
    move_text,
    operator_of,
    score_change,
    series_name,
    state_text,
)
from auditor.report.ink import OF_BAND, Ink, Style
from auditor.report.layout import Cell, Column, Fit, grid, width_of, wrap
from auditor.report.plain import plain
from auditor.report.verdict import counted
from auditor.report.writer import NARROWEST, Look
from auditor.scoring.band import Band

_SHOWN_SWEEPS = 12
_SHOWN_FINDINGS = 20
_SHOWN_CARDS = 15
_WIDE, _USUAL = 110, 80

_FIGURES: Mapping[str, Callable[[SweepPoint], str]] = {
    "cards": lambda point: str(point.whole.cards),
    "score": lambda point: percent_text(point.whole.percent),
    "cover": lambda point: percent_text(point.whole.coverage_percent),
    "crit": lambda point: str(point.whole.findings[Band.CRITICAL]),
    "high": lambda point: str(point.whole.findings[Band.HIGH]),
    "med": lambda point: str(point.whole.findings[Band.MEDIUM]),
    "low": lambda point: str(point.whole.findings[Band.LOW]),
    "new": lambda point: str(point.events.get(Event.NEW, 0)),
    "returned": lambda point: str(point.events.get(Event.RETURNED, 0)),
    "mended": lambda point: str(point.events.get(Event.MENDED, 0)),
    "persisting": lambda point: str(point.events.get(Event.PERSISTING, 0)),
}
"""The figures of a sweep, by the names of their columns."""

_LEFT_OUT: Mapping[int, frozenset[str]] = {
    _WIDE: frozenset(),
    _USUAL: frozenset({"persisting"}),
    NARROWEST: frozenset({"persisting", "cover", "med", "low", "returned"}),
}
"""What has no room from so many columns on."""


class HistoryTable:
    """Writes the blocks of one history."""

    def __init__(self, history: History, store: str, look: Look) -> None:
        """Take a history, and the file that it comes from."""
        self._history = history
        self._store = store
        self._width = look.columns
        self._ink = Ink(look.colour)
        self._missing = {card.result.card for card in history.cards if card.missed}

    def text(self) -> str:
        """Return the report, a blank line between its blocks."""
        return "\n".join("\n".join(block) + "\n" for block in self._blocks() if block)

    def _blocks(self) -> Iterator[list[str]]:
        yield self._head()
        yield self._attention()
        yield from self._moves()
        yield self._trend()
        yield self._groups()
        yield self._findings()
        yield self._mending()
        yield self._deviations()
        yield self._closing()

    def _head(self) -> list[str]:
        history, whole = self._history, self._history.now.whole
        title = " of ".join(filter(None, ("History", operator_of(history))))
        moved = score_change(history)
        score = f"score {percent_text(whole.percent)} of 100" + ("" if moved is None else f" ({moved:+.1f})")
        more = cards_change(history)
        cards = counted(whole.cards, "card") + (f" ({more:+d})" if more else "")
        figures = [score, f"coverage {percent_text(whole.coverage_percent)} %", cards]
        findings = counted(sum(whole.findings.values()), "finding")
        accepted = f"; {counted(whole.accepted, 'finding')} under a deviation" if whole.accepted else ""
        return [
            *self._wrapped(title, Style.STRONG),
            *self._wrapped(f"as of {day_text(history.as_of)} · {counted(len(history.points), 'sweep')}"),
            *self._wrapped(" · ".join(figures)),
            *self._wrapped(f"{findings}: {bands_text(whole.findings)}{accepted}"),
            *(line for each in history.series for line in self._wrapped(calendar_text(each, history))),
        ]

    def _attention(self) -> list[str]:
        found = attention(self._history)
        if not found:
            return []
        rows = [
            [Cell(plain(each.card.result.card)), Cell("; ".join(each.reasons))]
            for each in found[:_SHOWN_CARDS]
        ]
        columns = [Column("card", fit=Fit.CUT_END), Column("why", fit=Fit.CUT_END)]
        return [self._heading("Cards to see to", len(rows), len(found)), *self._grid(columns, rows)]

    def _trend(self) -> list[str]:
        points = self._history.points[-_SHOWN_SWEEPS:]
        several = len(self._history.series) > 1
        left_out = next(names for width, names in _LEFT_OUT.items() if self._width >= width)
        if several and self._width < _WIDE:
            left_out |= {"cover", "returned"}
        names = [name for name in _FIGURES if name not in left_out]
        columns = [Column("sweep"), *([Column("part", fit=Fit.CUT_END)] if several else [])]
        columns += [Column(name, number=True) for name in names]
        rows = [
            [
                Cell(day_text(point.sweep.as_of)),
                *([Cell(plain(series_name(point.sweep, self._history)))] if several else []),
                *(Cell(_FIGURES[name](point)) for name in names),
            ]
            for point in points
        ]
        heading = self._heading("Sweeps", len(points), len(self._history.points))
        return [heading, *self._grid(columns, rows)]

    def _groups(self) -> list[str]:
        first = self._history.points[0].groups
        columns = [Column("group", fit=Fit.CUT_END), Column("cards", number=True), Column("worst")]
        columns += [Column(name, number=True) for name in ("score", "at first", "cover")]
        rows = [
            _group(f"{grouping}: {name.replace('_', ' ') or 'not said'}", group, first[grouping].get(name))
            for grouping, members in self._history.now.groups.items()
            for name, group in members.items()
            if len(members) > 1
        ]
        return [self._ink("Groups", Style.STRONG), *self._grid(columns, rows)] if rows else []

    def _findings(self) -> list[str]:
        found = [spell for spell in self._history.spells if spell.is_open]
        return self._spells("Open findings", "state", found, self._state)

    def _moves(self) -> Iterator[list[str]]:
        moves = self._history.moves
        begun = [spell for spell in moves if spell.fate is Fate.OPEN]
        ended = [spell for spell in moves if spell.fate is not Fate.OPEN]
        yield self._spells("New with the last sweep", "", begun, move_text)
        yield self._spells("Mended or lost with the last sweep", "", ended, move_text)

    def _state(self, spell: Spell) -> str:
        return state_text(spell) + (", card missing" if spell.card in self._missing else "")

    def _spells(
        self, title: str, name: str, found: Sequence[Spell], said_of: Callable[[Spell], str]
    ) -> list[str]:
        """Return a block of findings; those that look alike, for want of room for a place, share a row."""
        if not found:
            return []
        columns = [Column("severity"), Column("finding", fit=Fit.CUT_END), Column("card", fit=Fit.CUT_END)]
        columns += [Column("place", fit=Fit.CUT_END)] if self._width >= _WIDE else []
        columns += [Column("days", number=True), Column(name, fit=Fit.CUT_END)]
        alike = groupby([*self._finding(spell), Cell(said_of(spell))] for spell in found)
        shown = [(row, len(list(same))) for row, same in islice(alike, _SHOWN_FINDINGS)]
        heading = self._heading(title, sum(number for _, number in shown), len(found))
        return [heading, *self._grid(columns, [_with_number(*each) for each in shown])]

    def _finding(self, spell: Spell) -> Iterable[Cell]:
        finding = spell.finding
        yield Cell(f"{finding.band.value:<8} {finding.severity:>4}", OF_BAND[finding.band.value])
        yield Cell(finding.rule)
        yield Cell(plain(spell.card))
        if self._width >= _WIDE:
            yield Cell(plain(finding.label) or "card")
        yield Cell(age_text(spell, self._history.as_of))

    def _mending(self) -> list[str]:
        columns = [Column("severity")]
        columns += [
            Column(name, number=True) for name in ("findings", "mended", "not mended", "median to mend")
        ]
        rows = [
            [Cell(f"{band.value:<8}", OF_BAND[band.value]), *_mending_cells(survival)]
            for band, survival in self._history.mending.items()
        ]
        rows.append([Cell("all"), *_mending_cells(self._history.mending_of_all)])
        return [self._ink("Time to mend", Style.STRONG), *self._grid(columns, rows)]

    def _deviations(self) -> list[str]:
        near = [each for each in self._history.deviations if each.is_near]
        if not near:
            return []
        columns = [Column("deviation", fit=Fit.CUT_END), Column("owner", fit=Fit.CUT_END)]
        columns += [Column("covers", number=True), Column("last day"), Column("", fit=Fit.CUT_END)]
        rows = [
            [
                Cell(plain(each.deviation.rule)),
                Cell(plain(each.deviation.owner) or "nobody"),
                Cell(str(each.deviation.findings)),
                Cell(each.deviation.expires.isoformat()),
                Cell(deviation_text(each)),
            ]
            for each in near
        ]
        heading = self._heading("Deviations near their end", len(near), len(self._history.deviations))
        return [heading, *self._grid(columns, rows)]

    def _closing(self) -> list[str]:
        lines = [line for note in NOTES for line in self._wrapped(note, Style.FAINT)]
        command = f"witnessmark history --store {shlex.quote(self._store)} --output history.html"
        return [*lines, "", *self._wrapped(f"Read on: {plain(command)}")]

    def _heading(self, title: str, shown: int, there: int) -> str:
        note = f"{shown} of {there}"
        space = " " * max(2, self._width - width_of(title) - width_of(note))
        return self._ink(title, Style.STRONG) + space + self._ink(note, Style.FAINT)

    def _grid(self, columns: Sequence[Column], rows: Sequence[Sequence[Cell]]) -> list[str]:
        return grid(columns, rows, self._width, self._ink)

    def _wrapped(self, text: str, style: Style = Style.USUAL) -> list[str]:
        return [self._ink(line, style) for line in wrap(plain(text), self._width, later="  ")]


def _with_number(row: Sequence[Cell], number: int) -> Sequence[Cell]:
    severity, finding, *others = row
    return row if number == 1 else [severity, Cell(f"{number} × {finding.text}"), *others]  # noqa: RUF001 - times, no letter


def _group(title: str, group: Standing, before: Standing | None) -> list[Cell]:
    return [
        Cell(plain(title)),
        Cell(str(group.cards)),
        Cell(f"{group.worst.value:<8}", OF_BAND[group.worst.value]),
        Cell(percent_text(group.percent)),
        Cell(percent_text(before.percent if before else None)),
        Cell(percent_text(group.coverage_percent)),
    ]


def _mending_cells(survival: Survival) -> Iterator[Cell]:
    counts = map(str, (survival.findings, survival.mended, survival.open))
    return map(Cell, (*counts, median_text(survival)))
