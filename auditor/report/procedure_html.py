"""A procedure as one HTML page made for paper: nothing fetched, no script, only its own style."""

from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import BinaryIO

from auditor.report.html.asset import asset
from auditor.report.html.page import policy
from auditor.report.html.running_head import running_head
from auditor.report.visit_entry import Entry
from auditor.report.visit_sheet import Sheet
from auditor.report.visit_words import OUTPUT, RESTART


def write_html(sheet: Sheet, stream: BinaryIO, *, paper: str = "") -> None:
    """Write the page; ``paper`` is a size of CSS, such as ``A4``, or empty for what the printer holds."""
    from auditor.report.html.template import page_template  # slow import, for this format only

    cards = [card.id for card in sheet.cards]
    head = running_head("Procedure", cards, sheet.as_of, sheet.rulesets, paper)
    style = asset("paper.css") + asset("procedure.css") + head.style
    page = page_template(asset("procedure.html.j2")).render(
        sheet=sheet, style=style, policy=policy(style), output=OUTPUT, restart=RESTART, alike=_alike
    )
    stream.write(page.encode("utf-8"))


def _alike(entries: Sequence[Entry]) -> Iterator[tuple[Entry, tuple[str, ...]]]:
    """Yield what is entered, each with the settings one after the other that get the same."""
    for _, alike in groupby(entries, key=lambda entry: (entry.value, entry.before, entry.kind)):
        group = list(alike)
        yield group[0], tuple(entry.setting for entry in group)
