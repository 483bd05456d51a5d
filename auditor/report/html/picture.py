"""Where everything stands in the estate's picture, in SVG user units. Draws nothing itself."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import groupby

from auditor.dataclass import dataclass
from auditor.report.grid import Cell, Row
from auditor.report.html.wording import count
from auditor.scoring.band import Band

LABEL_WIDTH = 236
CELL_WIDTH = 34
CELL_HEIGHT = 18
ROW_PITCH = 21
HEAD_HEIGHT = 118
# Rows of one drawing: with its head it fits an A4 page, so that print never cuts one.
ROWS_A_DRAWING = 34
_LETTERS_SHOWN = 30
_MARGIN_RIGHT = 64  # the last family's name leans over the edge

SIGNS = (
    ("critical", "C", "critical"),
    ("high", "H", "high"),
    ("medium", "M", "medium"),
    ("low", "L", "low"),
    ("none", "0", "findings of severity 0.0"),
    ("unknown", "?", "no finding, something undecided"),
    ("pass", "✓", "all pass"),
    ("notapplicable", "\u2013", "nothing applies"),
)
"""Every sign of a cell: its name, its letter, its meaning."""


@dataclass(frozen=True, slots=True)
class Mark:
    """One cell: where it stands, its sign, what it says in words, and what its sign does not say."""

    x: int
    sign: str
    says: str
    beside: str


@dataclass(frozen=True, slots=True)
class DrawnRow:
    """One drawn row. ``card`` is the card's number, None for a heading or a site."""

    y: int
    name: str
    shown: str
    card: int | None
    marks: tuple[Mark, ...]

    @property
    def is_heading(self) -> bool:
        """Return whether the row is a heading: it has no cells."""
        return not self.marks


@dataclass(frozen=True, slots=True)
class Drawing:
    """One drawing: its rows and its size."""

    rows: tuple[DrawnRow, ...]
    width: int
    height: int


@dataclass(frozen=True, slots=True)
class Placed:
    """A row to draw, under the heading that it belongs to (empty for none).

    ``not_known`` counts, family by family, the findings that are unknowns and not fails.
    """

    heading: str
    card: int | None
    row: Row
    not_known: tuple[int, ...]


def draw(rows: Sequence[Placed], families: Sequence[str]) -> tuple[Drawing, ...]:
    """Return drawings that hold every row in order, headings repeated where a drawing ends."""
    width = LABEL_WIDTH + CELL_WIDTH * len(families) + _MARGIN_RIGHT
    return tuple(_drawing(part, families, width) for part in _parts(rows))


def column_x(family: int) -> int:
    """Return where the column of a family begins."""
    return LABEL_WIDTH + CELL_WIDTH * family


def _parts(rows: Sequence[Placed]) -> Iterator[list[Placed]]:
    part: list[Placed] = []
    lines = 0
    for placed in rows:
        needs_heading = bool(placed.heading) and (not part or part[-1].heading != placed.heading)
        # A heading needs its first row beside it, so it counts as part of that row.
        if part and lines + 1 + needs_heading > ROWS_A_DRAWING:
            yield part
            part, lines, needs_heading = [], 0, bool(placed.heading)
        part.append(placed)
        lines += 1 + needs_heading
    if part:
        yield part


def _drawing(part: Sequence[Placed], families: Sequence[str], width: int) -> Drawing:
    rows: list[DrawnRow] = []
    for heading, members in groupby(part, key=_heading):
        if heading:
            rows.append(DrawnRow(_row_y(len(rows)), heading, _cut(heading), None, ()))
        for placed in members:
            rows.append(_row(placed, families, _row_y(len(rows))))
    return Drawing(tuple(rows), width, _row_y(len(rows)) + 2)


def _heading(placed: Placed) -> str:
    return placed.heading


def _row_y(place: int) -> int:
    return HEAD_HEIGHT + ROW_PITCH * place


def _row(placed: Placed, families: Sequence[str], y: int) -> DrawnRow:
    name = placed.row.name
    marks = tuple(
        _mark(placed, (number, family), cell, placed.not_known[number])
        for number, (family, cell) in enumerate(zip(families, placed.row.cells, strict=True))
    )
    return DrawnRow(y, name, _cut(name), placed.card, marks)


def _mark(placed: Placed, column: tuple[int, str], cell: Cell, not_known: int) -> Mark:
    number, family = column
    apart = f", {count(not_known, 'finding')} not known" if not_known else ""
    says = f"{family}: {words_of(cell)}{apart}"
    return Mark(column_x(number), sign_of(cell), says, _beside(placed, cell, not_known))


def _beside(placed: Placed, cell: Cell, not_known: int) -> str:
    """Return a cell's letter with what stands beside it, empty where the letter alone is drawn.

    A site has the share of results that are findings, in percent; a card has ``?`` where none
    of its findings is a fail.
    """
    if not cell.findings:
        return ""
    letter = next(letter for name, letter, _ in SIGNS if name == cell.worst)
    if placed.card is None:
        return f"{letter} {max(1, round(100 * cell.findings / cell.results))}"
    return f"{letter} ?" if not_known == cell.findings else ""


def _cut(name: str) -> str:
    return name if len(name) <= _LETTERS_SHOWN else f"{name[: _LETTERS_SHOWN - 1]}…"


def sign_of(cell: Cell) -> str:
    """Return the name of a cell's sign: a band, or pass, unknown, notapplicable."""
    if cell.findings:
        return cell.worst.value
    if not cell.results:
        return "notapplicable"
    return "unknown" if cell.unknown else "pass"


def words_of(cell: Cell) -> str:
    """Return what a cell says, in words."""
    undecided = f"{cell.unknown:,} undecided" if cell.unknown else ""
    if cell.findings:
        found = f"{count(cell.findings, 'finding')} in {count(cell.results, 'result')}"
        return ", ".join(filter(None, (cell.worst.value, found, undecided)))
    if not cell.results:
        return "nothing applies"
    return f"no finding, {undecided}" if undecided else "all pass"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of a stripe: a band, where it begins and how wide it is, of a thousand."""

    band: Band
    x: int
    width: int


def stripe(counts: Mapping[Band, int]) -> tuple[Part, ...]:
    """Return the stripe of findings by band, worst first, a thousand wide; empty without findings."""
    whole = sum(counts.values())
    parts, done = [], 0
    for band in sorted(counts, reverse=True):
        if counts[band]:
            begin = 1000 * done // whole
            done += counts[band]
            parts.append(Part(band, begin, 1000 * done // whole - begin))
    return tuple(parts)
