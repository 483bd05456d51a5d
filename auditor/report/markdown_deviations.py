"""Deviations as Markdown: what is accepted, and what is wrong with a deviation."""

from auditor.fleet.estate import EstateSummary
from auditor.report.deviation_view import INTRODUCTION, TITLE, FaultRow, UseRow, fault_rows, use_rows
from auditor.report.markdown_text import code, prose, table
from auditor.report.verdict import counted

_SHOWN = 100


def deviation_lines(summary: EstateSummary) -> list[str]:
    """Return the section of the deviations: what is wrong with them, then those in force."""
    uses, faults = use_rows(summary), fault_rows(summary)
    if not uses and not faults:
        return []
    lines = [f"## {TITLE}", "", INTRODUCTION]
    if faults:
        heads = ("severity", "what is wrong", "of which", "where", "to mend")
        lines += ["", *table(heads, map(_fault, faults[:_SHOWN]))]
    if uses:
        columns = ("rule", "covers", "owner", "until", "ticket", "reason")
        lines += ["", *table(columns, map(_use, uses[:_SHOWN]))]
    more = max(0, len(uses) - _SHOWN) + max(0, len(faults) - _SHOWN)
    rest = f"… and {counted(more, 'row')} more; the formats json and ndjson hold them all."
    return [*lines, "", rest] if more else lines


def _fault(row: FaultRow) -> tuple[str, ...]:
    what = row.finding.what
    return row.severity, prose(what.title), prose(row.says), code(row.where), prose(what.mend)


def _use(row: UseRow) -> tuple[str, ...]:
    covers = f"{prose(row.covers)}, {prose(row.about)}"
    return code(row.rule), covers, prose(row.owner), row.expires, prose(row.ticket), prose(row.reason)
