"""What time decides, as Markdown: of a card, and whose events can be put in order."""

from typing import Final

from auditor.fleet.estate import EstateSummary
from auditor.report.figures import listed
from auditor.report.markdown_text import code, prose, table
from auditor.report.times_view import (
    ORDER_INTRODUCTION,
    ORDER_TITLE,
    TITLE,
    OrderRow,
    TimeRow,
    order_rows,
    times_of,
)
from auditor.report.verdict import counted
from auditor.report.writer import Run
from auditor.scoring.assessment import CardAssessment

_SHOWN_SITES: Final = 100


def card_time_lines(run: Run, card: CardAssessment, heading: str = f"**{TITLE}**") -> list[str]:
    """Return the sentences on a card's shutdown, log and clock, as a list under a heading."""
    lines = [f"- {row.what}: {_sentence(row)}." for row in times_of(run, card)]
    return [heading, "", *lines, ""] if lines else []


def time_lines(run: Run, summary: EstateSummary) -> list[str]:
    """Return the section on time: of a single card all of it, of an estate whose events have an order."""
    if summary.whole.cards == 1:
        return card_time_lines(run, summary.worst_cards[0], f"## {TITLE}")[:-1]
    return _order(summary)


def _order(summary: EstateSummary) -> list[str]:
    clocks = summary.clocks or ()
    rows = order_rows(clocks, _SHOWN_SITES)
    if not rows:
        return []
    heads = ("order is told of events", "may be off the most", "nothing bounds the clocks of")
    columns = ("site", "cards:", *heads)
    cells = [_cells(row) for row in rows]
    more = len(clocks) - len(rows)
    rest = ["", f"… and {counted(more, 'more site')}."] if more else []
    return [f"## {ORDER_TITLE}", "", prose(ORDER_INTRODUCTION), "", *table(columns, cells), *rest]


def _sentence(row: TimeRow) -> str:
    return f"{code(row.name)}, {prose(row.says)}" if row.name else prose(row.says)


def _cells(row: OrderRow) -> tuple[str, ...]:
    loosest = f"{code(row.loosest)}, by {row.off}" if row.off else ""
    unbounded = listed(map(code, row.unbounded), row.more)
    return code(row.site) or "no site", str(row.cards), row.apart, loosest, unbounded
