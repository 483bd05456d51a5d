"""Deviations for a terminal: what is accepted, and what is wrong with a deviation."""

from auditor.fleet.estate import EstateSummary
from auditor.report.deviation_view import TITLE, FaultRow, UseRow, fault_rows, use_rows
from auditor.report.ink import OF_BAND
from auditor.report.table_notes import Page
from auditor.report.verdict import counted

_SHOWN = 10
_INDENT = " " * 15


def deviation_block(page: Page, summary: EstateSummary) -> list[str]:
    """Return the deviations that cover a finding, then what is wrong with deviations."""
    uses, faults = use_rows(summary), fault_rows(summary)
    if not uses and not faults:
        return []
    lines = [page.heading(TITLE, f"{len(uses)} in force, {counted(len(faults), 'fault')} in the file")]
    for fault in faults[:_SHOWN]:
        lines += _fault(page, fault)
    for use in uses[:_SHOWN]:
        lines += _use(page, use)
    more = max(0, len(uses) - _SHOWN) + max(0, len(faults) - _SHOWN)
    return [*lines, f"… and {more} more; --format json lists them."] if more else lines


def _fault(page: Page, row: FaultRow) -> list[str]:
    band = row.finding.band.value
    badge = page.ink(f"{band:<8} {row.finding.severity.score:>4}", OF_BAND[band])
    first, *rest = page.wrapped(f"{row.finding.what.title}: {row.says}", _INDENT)
    mend = page.wrapped(f"{row.where}: {row.finding.what.mend}", _INDENT)
    return [badge + first[13:], *rest, *mend]


def _use(page: Page, row: UseRow) -> list[str]:
    ticket = f", ticket {row.ticket}" if row.ticket else ""
    first, *rest = page.wrapped(f"{row.rule} on {row.about}: {row.covers}", _INDENT)
    owned = page.wrapped(f"until {row.expires}, {row.owner} answers for it{ticket}: {row.reason}", _INDENT)
    return [f"{'accepted':<13}{first[13:]}", *rest, *owned]
