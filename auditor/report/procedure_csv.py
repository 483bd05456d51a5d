"""A procedure as CSV: one row a step, in the order of the visits, for a work-order system."""

from typing import BinaryIO, Final

from auditor.report.csv_rows import CsvRows
from auditor.report.visit_sheet import BlockText, PartText, Sheet, VisitText
from auditor.report.visit_step import StepText

COLUMNS: Final = (
    "visit", "card", "step", "block", "title", "where", "enter", "expected", "verify", "go_back",
    "monitoring_sees", "prove_first", "minutes", "restart_ends_block", "output_risk", "severity", "rules",
    "falls_away", "initials", "time",
)  # fmt: skip


def write_csv(sheet: Sheet, stream: BinaryIO) -> None:
    """Write the rows; initials and time are left empty for people."""
    rows = CsvRows(stream, COLUMNS)
    for visit in sheet.visits:
        for part in visit.parts:
            for block in part.blocks:
                for step in block.steps:
                    rows.write(_row(visit, part, block, step))


def _row(visit: VisitText, part: PartText, block: BlockText, step: StepText) -> tuple[str | float, ...]:
    return (
        visit.number,
        part.card,
        step.number,
        block.kind,
        step.title,
        step.where,
        "; ".join(f"{entry.setting}: {entry.value}" for entry in step.enter),
        step.expected,
        " ".join(step.verify),
        step.back,
        step.monitoring,
        step.prove,
        step.minutes,
        "yes" if block.restarts else "no",
        "yes" if step.output_risk else "no",
        max((mended.severity for mended in step.mends), default=0.0),
        ", ".join(sorted({mended.rule for mended in step.mends})),
        ", ".join(sorted({mended.rule for mended in step.falls_away})),
        "",
        "",
    )
