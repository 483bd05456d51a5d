"""What time decides, for a terminal: of a card, and whose events can be put in order."""

from typing import Final

from auditor.fleet.estate import EstateSummary
from auditor.report.figures import listed
from auditor.report.layout import Cell, Column, Fit, grid, wrap
from auditor.report.plain import plain
from auditor.report.table_notes import Page
from auditor.report.times_view import ORDER_TITLE, TITLE, OrderRow, order_rows, times_of
from auditor.report.verdict import counted
from auditor.scoring.assessment import CardAssessment

_SHOWN_SITES: Final = 8
_WHAT: Final = 21


def card_times(page: Page, assessment: CardAssessment) -> list[str]:
    """Return the sentences on a card's shutdown, log and clock."""
    lines: list[str] = []
    for row in times_of(page.run, assessment):
        lines += wrap(row.sentence, page.width, first=f"{row.what:<{_WHAT}}", later=" " * _WHAT)
    return [page.heading(TITLE), *lines] if lines else []


def estate_order(page: Page, summary: EstateSummary) -> list[str]:
    """Return site by site how far apart events must be, and the cards whose clock nothing bounds."""
    clocks = summary.clocks or ()
    rows = order_rows(clocks, _SHOWN_SITES)
    if not rows:
        return []
    columns = [Column("site", fit=Fit.CUT_END), Column("cards", number=True)]
    columns += [Column("order is told of events"), Column("not of those of", fit=Fit.CUT_END)]
    cells = [[Cell(each) for each in _cells(row)] for row in rows]
    note = f"{len(rows)} of {counted(len(clocks), 'site')}"
    return [page.heading(ORDER_TITLE, note), *grid(columns, cells, page.width, page.ink)]


def _cells(row: OrderRow) -> tuple[str, ...]:
    unbounded = listed(map(plain, row.unbounded), row.more)
    return plain(row.site) or "no site", str(row.cards), row.apart, unbounded
