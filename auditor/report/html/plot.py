"""Where everything stands in the plots of a history, in SVG user units. Draws nothing itself."""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from auditor.dataclass import dataclass
from auditor.history.chronicle import SweepPoint
from auditor.history.survival import Survival
from auditor.report.figures import percent_text
from auditor.report.history_view import BANDS, day_text
from auditor.report.html.wording import count
from auditor.scoring.band import Band

WIDTH, HEIGHT = 760, 260
LEFT, RIGHT, TOP, BOTTOM = 46, 88, 14, 34
_INNER_WIDTH = WIDTH - LEFT - RIGHT
_INNER_HEIGHT = HEIGHT - TOP - BOTTOM
_TICKS = 6
_LABEL_HEIGHT = 15
_WIDEST_BAR = 34
_LETTER_HEIGHT = 13
SPARK_WIDTH, SPARK_HEIGHT = 96, 20


@dataclass(frozen=True, slots=True)
class Tick:
    """A mark on an axis: where it stands, and what it says."""

    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Dot:
    """One point of a line, and what it says in words."""

    x: float
    y: float
    says: str


@dataclass(frozen=True, slots=True)
class Line:
    """A line with its name, which stands at ``label_y`` beside its end; ``path`` is SVG path data."""

    name: str
    kind: str
    path: str
    dots: tuple[Dot, ...]
    end_y: float
    label_y: float


@dataclass(frozen=True, slots=True)
class Bar:
    """One part of a stack: its band, where it stands, its letter where there is room, its words."""

    band: Band
    x: float
    y: float
    width: float
    height: float
    letter: str
    says: str


@dataclass(frozen=True, slots=True)
class Plot:
    """A plot: axes, lines or bars; ``says`` tells all of it in a sentence."""

    x_ticks: tuple[Tick, ...]
    y_ticks: tuple[Tick, ...]
    lines: tuple[Line, ...]
    bars: tuple[Bar, ...]
    says: str


def score_plot(points: Sequence[SweepPoint]) -> Plot:
    """Return score and coverage of the estate over its sweeps, 0 to 100."""
    moments = _Moments([point.sweep.as_of for point in points])
    series = (
        ("score", "score", [(point, point.whole.percent) for point in points]),
        ("coverage", "coverage", [(point, point.whole.coverage_percent) for point in points]),
    )
    lines = [_line(name, kind, list(_dots(name, pairs, moments))) for name, kind, pairs in series]
    last = points[-1].whole
    first = points[0].whole
    says = (
        f"Score {percent_text(first.percent)} at first and {percent_text(last.percent)} at last, "
        f"coverage {percent_text(first.coverage_percent)} and {percent_text(last.coverage_percent)}, "
        f"over {count(len(points), 'sweep')}."
    )
    return Plot(moments.ticks(), _percent_ticks(), _labelled(lines), (), says)


def findings_plot(points: Sequence[SweepPoint]) -> Plot:
    """Return the open findings after each sweep, stacked by band, worst at the bottom."""
    moments = _Moments([point.sweep.as_of for point in points], margin=_WIDEST_BAR / 2 + 2)
    most = _round_up(max(sum(point.whole.findings[band] for band in BANDS) for point in points))
    width = moments.bar_width()
    bars = tuple(bar for point in points for bar in _stack(point, moments.x(point.sweep.as_of), width, most))
    first, last = (sum(p.whole.findings[band] for band in BANDS) for p in (points[0], points[-1]))
    says = f"{count(first, 'finding')} after the first sweep, {count(last, 'finding')} after the last."
    ticks = tuple(Tick(_y(most * part / 4, most), f"{most * part / 4:.10g}") for part in range(5))
    return Plot(moments.ticks(), ticks, (), bars, says)


def mending_plot(mending: Mapping[Band, Survival]) -> Plot | None:
    """Return the share of findings still open by days since they were found; None where none was mended."""
    told = {band: survival for band, survival in mending.items() if survival.steps and band in BANDS}
    if not told:
        return None
    most = _round_up(max(survival.steps[-1].days for survival in told.values()))
    lines = [_steps(band, survival, most) for band, survival in told.items()]
    x_ticks = tuple(Tick(LEFT + _INNER_WIDTH * part / 4, f"{most * part / 4:.10g} d") for part in range(5))
    medians = (f"{band.value} {_median(survival)}" for band, survival in told.items())
    return Plot(x_ticks, _percent_ticks(), _labelled(lines), (), f"Median: {', '.join(medians)}.")


def sparkline(values: Sequence[tuple[datetime, float | None]], first: datetime, last: datetime) -> str:
    """Return the path of scores over time, 0 to 100, as steps in a small drawing; empty without any."""
    span = (last - first) / timedelta(days=1) or 1
    path, now = [], None
    for moment, value in values:
        if value is not None:
            x = _rounded(1 + (SPARK_WIDTH - 2) * ((moment - first) / timedelta(days=1)) / span)
            y = _rounded(1 + (SPARK_HEIGHT - 2) * (1 - value / 100))
            path.append(f"M{x} {y}" if now is None else f"H{x}V{y}")
            now = y
    return "".join([*path, f"H{SPARK_WIDTH - 1}"]) if path else ""


class _Moments:
    """Where moments stand on the axis of time."""

    def __init__(self, moments: Sequence[datetime], margin: float = 0) -> None:
        self._first, self._last = min(moments), max(moments)
        self._moments = sorted(set(moments))
        self._margin = margin

    def x(self, moment: datetime) -> float:
        room = _INNER_WIDTH - 2 * self._margin
        if self._first == self._last:
            return LEFT + self._margin + room / 2
        return LEFT + self._margin + room * ((moment - self._first) / (self._last - self._first))

    def ticks(self) -> tuple[Tick, ...]:
        step = max(1, -(-len(self._moments) // _TICKS))
        shown = self._moments[::-1][::step][::-1]  # the last sweep always has its date
        return tuple(Tick(self.x(moment), day_text(moment)) for moment in shown)

    def bar_width(self) -> float:
        places = [self.x(moment) for moment in self._moments]
        gaps = [later - earlier for earlier, later in pairwise(places)]
        return max(2.0, min([_WIDEST_BAR, *(0.8 * gap for gap in gaps)]))


def _dots(name: str, pairs: Iterable[tuple[SweepPoint, float | None]], moments: _Moments) -> Iterator[Dot]:
    for point, value in pairs:
        if value is not None:
            says = f"{day_text(point.sweep.as_of)}: {name} {percent_text(value)}"
            yield Dot(_rounded(moments.x(point.sweep.as_of)), _rounded(_y(value, 100)), says)


def _line(name: str, kind: str, dots: Sequence[Dot]) -> Line:
    path = "".join(f"{'L' if place else 'M'}{dot.x} {dot.y}" for place, dot in enumerate(dots))
    end = dots[-1].y if dots else _y(0, 100)
    return Line(name, kind, path, tuple(dots), end, end)


def _steps(band: Band, survival: Survival, most: float) -> Line:
    path, share = f"M{LEFT} {_y(100, 100):.10g}", 1.0
    for step in survival.steps:
        x, y = _rounded(LEFT + _INNER_WIDTH * step.days / most), _rounded(_y(100 * step.open_share, 100))
        path, share = f"{path}H{x}V{y}", step.open_share
    end = _rounded(_y(100 * share, 100))
    return Line(band.value, band.value, f"{path}H{LEFT + _INNER_WIDTH}", (), end, end)


def _median(survival: Survival) -> str:
    days = survival.median_days
    return "not known yet" if days is None else f"{days:.10g} days"


def _labelled(lines: Sequence[Line]) -> tuple[Line, ...]:
    """Return the lines with their names moved apart where they would stand on each other."""
    placed: dict[str, float] = {}
    lowest = float(TOP)
    for line in sorted(lines, key=lambda each: each.end_y):
        lowest = placed[line.name] = max(line.end_y, lowest)
        lowest += _LABEL_HEIGHT
    over = max(0.0, lowest - _LABEL_HEIGHT - (HEIGHT - BOTTOM))
    return tuple(
        Line(line.name, line.kind, line.path, line.dots, line.end_y, placed[line.name] - over)
        for line in lines
    )


def _stack(point: SweepPoint, x: float, width: float, most: float) -> Iterator[Bar]:
    below = 0
    for band in BANDS:
        number = point.whole.findings[band]
        if not number:
            continue
        top, bottom = _y(below + number, most), _y(below, most)
        below += number
        height = _rounded(bottom - top)
        has_room = height >= _LETTER_HEIGHT and width >= _LETTER_HEIGHT
        says = f"{day_text(point.sweep.as_of)}: {number:,} {band.value}"
        letter = band.value[0].upper() if has_room else ""
        yield Bar(band, _rounded(x - width / 2), _rounded(top), _rounded(width), height, letter, says)


def _percent_ticks() -> tuple[Tick, ...]:
    return tuple(Tick(_y(value, 100), f"{value} %") for value in (0, 25, 50, 75, 100))


def _y(value: float, most: float) -> float:
    return TOP + _INNER_HEIGHT * (1 - value / most)


def _round_up(value: float) -> float:
    """Return the next of 1, 2, 4, 8 and their tenfolds: a quarter of it is easily read."""
    size = 1.0
    while size < value:
        size = next((size * part for part in (2, 4, 8, 10) if size * part >= value), size * 10)
    return max(size, 4.0)


def _rounded(value: float) -> float:
    return round(value, 1)
