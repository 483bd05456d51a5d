"""The pages of a handover pack as bytes: nothing is fetched; the index has the digests of the others."""

import hashlib
from collections.abc import Mapping
from io import BytesIO
from typing import Any

from auditor.report import drift_view
from auditor.report.handover import (
    DEVIATIONS,
    INDEX,
    MARKS,
    PROCEDURE,
    REPORT,
    SIGNATORIES,
    USE,
    Handover,
    pages_of,
    provenance,
    worksheet_file,
)
from auditor.report.html.asset import asset
from auditor.report.html.page import make_html, policy
from auditor.report.html.running_head import RunningHead, running_head
from auditor.report.html.template import page_template
from auditor.report.procedure_html import write_html as write_procedure
from auditor.report.worksheet_html import write_html as write_worksheet
from auditor.report.writer import Look


def pages_by_file(handover: Handover, paper: str = "") -> dict[str, bytes]:
    """Return every page by the name of its file, the index first.

    ``paper`` is a size of CSS, such as ``A4``, or empty for what the printer holds.
    """
    pages = {REPORT: _report(handover, paper), PROCEDURE: _procedure(handover, paper)}
    for worksheet in handover.worksheets:
        stream = BytesIO()
        head = _head(handover, "Worksheet", paper, [worksheet.card_id])
        write_worksheet(worksheet, stream, head=head)
        pages[worksheet_file(worksheet.card_id)] = stream.getvalue()
    pages[DEVIATIONS] = _page("deviations.html.j2", handover, _head(handover, "Deviations", paper))
    marks = _head(handover, "Marks", paper)
    pages[MARKS] = _page("marks.html.j2", handover, marks, says=drift_view)
    return {INDEX: _index(handover, pages, paper), **pages}


def _index(handover: Handover, pages: Mapping[str, bytes], paper: str) -> bytes:
    return _page(
        "handover.html.j2",
        handover,
        _head(handover, "Handover", paper),
        pages=[(page, hashlib.sha256(pages[page.file]).hexdigest()) for page in pages_of(handover)],
        records=provenance(handover.records),
        signatories=SIGNATORIES,
        use=USE,
    )


def _report(handover: Handover, paper: str) -> bytes:
    stream = BytesIO()
    writer = make_html(handover.run, stream, Look(), paper=paper)
    for assessment in handover.assessments:
        writer.add(assessment)
    writer.finish(handover.summary)
    return stream.getvalue()


def _procedure(handover: Handover, paper: str) -> bytes:
    stream = BytesIO()
    write_procedure(handover.sheet, stream, paper=paper)
    return stream.getvalue()


def _page(template: str, handover: Handover, head: RunningHead, **said: Any) -> bytes:  # noqa: ANN401 - what a template is given
    style = asset("paper.css") + asset("handover.css") + head.style
    page = page_template(asset(template)).render(pack=handover, style=style, policy=policy(style), **said)
    return page.encode("utf-8")


def _head(handover: Handover, kind: str, paper: str, cards: list[str] | None = None) -> RunningHead:
    names = cards or handover.card_ids
    return running_head(kind, names, handover.run.as_of, handover.sheet.rulesets, paper)
