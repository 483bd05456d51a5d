"""A map tried on a sample, for the terminal: setting by setting what it took, and what it did not."""

from collections.abc import Iterator, Mapping, Sequence

from auditor.intake.imported import Lost, Origin
from auditor.intake.mapping.checking import CardCheck, CheckReport, Taken
from auditor.report.ink import Ink, Style
from auditor.report.layout import Cell, Column, Fit, grid, wrap
from auditor.report.plain import plain
from auditor.report.writer import Look

NOT_SHOWN = "(taken, not shown)"

_COLUMNS = (
    Column("setting", fit=Fit.CUT_START),
    Column("value", fit=Fit.CUT_END),
    Column("line", number=True),
    Column("place", fit=Fit.CUT_START),
)


def map_text(report: CheckReport, look: Look) -> str:
    """Return the text on every card of the sample, no wider than the look allows."""
    ink = Ink(look.colour)
    blocks = [[ink(line, Style.STRONG) for line in _title(report, look.width)]]
    blocks += [list(_card(card, report, look.width, ink)) for card in report.cards]
    return "\n\n".join("\n".join(block) for block in blocks)


def _title(report: CheckReport, width: int) -> list[str]:
    return wrap(plain(f"Map {report.map_name} on {report.file}"), width)


def _card(card: CardCheck, report: CheckReport, width: int, ink: Ink) -> Iterator[str]:
    yield from wrap(plain(card.card_id), width)
    yield from wrap(_counts(card), width, first="  ", later="  ")
    if card.taken:
        yield ""
        yield from grid(_COLUMNS, [_row(taken) for taken in card.taken], width, ink)
    for title, items in _sections(card, report):
        if items:
            yield ""
            yield ink(title, Style.STRONG)
        for item in items:
            yield from wrap(plain(item), width, first="  ", later="    ")


def _counts(card: CardCheck) -> str:
    counts = (
        f"{len(card.taken)} taken",
        f"{len(card.lost)} not converted",
        f"{len(card.blank)} say nothing",
        f"{len(card.absent)} not in this sample",
        f"{len(card.unmapped)} unmapped",
    )
    return " · ".join(counts)


def _row(taken: Taken) -> Sequence[Cell]:
    line = str(taken.origin.line or "-")
    return (
        Cell(plain(taken.pointer)),
        Cell(plain(_value(taken.value))),
        Cell(line),
        Cell(plain(taken.origin.at)),
    )


def _value(value: object) -> str:
    if value is None:
        return NOT_SHOWN
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "any source" if "any" in value else _value(value.get("prefixes", []))
    if isinstance(value, list):
        return ", ".join(map(str, value)) or "(none configured)"
    return str(value)


def _sections(card: CardCheck, report: CheckReport) -> Iterator[tuple[str, list[str]]]:
    yield "Not converted", [_lost(lost) for lost in card.lost]
    yield "Say nothing, so the setting stays unknown", [_place(origin) for origin in card.blank]
    yield (
        f"In the map, not in this sample ({report.map_file})",
        [f"line {silent.line}: {silent.to}" for silent in card.absent],
    )
    yield "In the sample, not in the map", list(card.unmapped)


def _lost(lost: Lost) -> str:
    return f"{_place(lost.origin)}: {lost.why}"


def _place(origin: Origin) -> str:
    return f"line {origin.line}: {origin.at}" if origin.line else origin.at
