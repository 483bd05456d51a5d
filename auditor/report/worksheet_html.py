"""The worksheet as one HTML page made for paper: nothing fetched, no script, only its own style."""

from typing import BinaryIO

from auditor.report.html.asset import asset
from auditor.report.html.page import policy
from auditor.report.html.running_head import RunningHead
from auditor.report.worksheet import Worksheet


def write_html(worksheet: Worksheet, stream: BinaryIO, *, head: RunningHead | None = None) -> None:
    """Write the page; ``head`` is what its margins carry where it belongs to a pack."""
    from auditor.report.html.template import page_template  # slow import, for this format only

    style = asset("worksheet.css") + (head.style if head else "")
    page = page_template(asset("worksheet.html.j2")).render(
        sheet=worksheet, style=style, policy=policy(style)
    )
    stream.write(page.encode("utf-8"))
