"""A procedure as Markdown: a page for a forge or a wiki, with boxes to tick."""

from collections.abc import Iterable, Iterator
from typing import BinaryIO

from auditor.report.figures import percent_text
from auditor.report.markdown_text import code, prose, table
from auditor.report.visit_sheet import BlockText, PartText, Sheet, VisitText
from auditor.report.visit_step import Mended, StepText
from auditor.report.visit_words import BLOCKS, OUTPUT, RESTART


def write_markdown(sheet: Sheet, stream: BinaryIO) -> None:
    """Write the page."""
    stream.write("\n".join(_lines(sheet)).encode() + b"\n")


def _lines(sheet: Sheet) -> Iterator[str]:
    yield from ("# Method of procedure", "", *_head(sheet))
    yield from ("", "> **Before you act on it.** " + " ".join(map(prose, sheet.cautions)))
    if sheet.is_empty:
        yield from ("", "There is nothing to do: no finding that a visit can mend.")
    else:
        yield from ("", "## Before", "", *_ticks(sheet.before), "", "Stop, and go back, if:", "")
        yield from (f"- {prose(stop)}" for stop in sheet.stops)
    for visit in sheet.visits:
        yield from _visit(visit)
    if not sheet.is_empty:
        yield from ("", "## After", "", *_ticks(sheet.after))
    yield from _left(sheet)
    yield from ("", "Done by: ______________________ Checked by: ______________________ Date: ____________")


def _head(sheet: Sheet) -> Iterator[str]:
    yield f"Made for {sheet.as_of:%Y-%m-%d %H:%M %Z}, by {prose(', '.join(sheet.rulesets))}."
    yield ""
    rows = (
        [
            code(card.id), prose(card.place), prose(card.feeds.replace("_", "-") or "not known"),
            prose("; ".join(card.ways) or ("none is known for certain" if card.findings_before else "")),
            f"{card.findings_before} → {card.findings_after}",
            f"{percent_text(card.score_before)} → {percent_text(card.score_after)}",
        ]
        for card in sheet.cards
    )  # fmt: skip
    yield from table(["Card", "Place", "Feeds", "Ways in at the start", "Findings:", "Score:"], rows)
    if sheet.has_open_values:
        yield ""
        yield "Values that come from the site count as unknown in the score after, until they are captured."
    if sheet.sharing:
        yield from ("", prose(sheet.sharing))


def _ticks(lines: Iterable[str]) -> Iterator[str]:
    return (f"- [ ] {prose(line)}" for line in lines)


def _visit(visit: VisitText) -> Iterator[str]:
    yield from ("", f"## Visit {visit.number}: {visit.minutes} min", "")
    yield f"Restarts: {visit.restarts}; monitoring blind for about {visit.blind_minutes} min in all."
    for part in visit.parts:
        yield from _part(part)


def _part(part: PartText) -> Iterator[str]:
    yield from ("", f"### {code(part.card)}, {part.minutes} min")
    for block in part.blocks:
        yield from _block(block)


def _block(block: BlockText) -> Iterator[str]:
    yield from ("", f"#### {BLOCKS[block.kind]}")
    if block.kind == "output":
        yield from ("", f"> {prose(OUTPUT)}")
    for step in block.steps:
        yield from _step(step)
    if block.restarts:
        yield from ("", f"- [ ] **Restart.** {prose(RESTART)}")


def _step(step: StepText) -> Iterator[str]:
    yield from ("", f"**{step.number} {prose(step.title)}**", "")
    if step.prove:
        yield f"- Hold: prove first, in a second session: {prose(step.prove)}"
    yield from (f"- What: {prose(what)}" for what in step.what)
    yield f"- Where: {prose(step.where)}"
    yield from (
        f"- {'' if entry.is_noted else 'Enter: '}{prose(entry.setting)}: **{prose(entry.value)}**"
        for entry in step.enter
    )
    yield f"- Expected: {prose(step.expected)}"
    yield from (f"- Verify: {prose(verify)}" for verify in step.verify)
    yield f"- Go back: {prose(step.back)}"
    yield f"- Monitoring sees: {prose(step.monitoring)}"
    yield f"- Mends: {_findings(step.mends) or 'nothing by itself; it opens a way in'}"
    if step.falls_away:
        yield f"- Falls away with this step: {_findings(step.falls_away)}"
    yield f"- [ ] Done, {step.minutes} min. Initials: ________ Time: ________"


def _findings(found: Iterable[Mended]) -> str:
    return ", ".join(f"{code(each.rule)} ({each.band} {each.severity:.1f})" for each in found)


def _left(sheet: Sheet) -> Iterator[str]:
    if sheet.left_out:
        yield from ("", "## Left out, and why", "")
        for left in sheet.left_out:
            yield f"- {code(left.card)} **{prose(left.title)}** {prose(left.reason)} ({prose(left.detail)})."
            yield f"  Instead: {prose(left.instead)}"
    if sheet.remaining:
        yield from ("", "## What remains", "")
        rows = (
            [code(each.card), code(each.rule), prose(each.title), f"{each.band} {each.severity:.1f}",
             prose(each.reason), prose(each.instead)]
            for each in sheet.remaining
        )  # fmt: skip
        yield from table(["Card", "Rule", "Finding", "Severity", "Why it remains", "What to do"], rows)
