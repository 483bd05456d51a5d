"""The worksheet as one HTML page made for paper: nothing fetched, no script, only its own style."""

import hashlib
from base64 import b64encode
from typing import BinaryIO

from auditor.report.html.asset import asset
from auditor.report.worksheet import Worksheet


def write_html(worksheet: Worksheet, stream: BinaryIO) -> None:
    """Write the page."""
    from auditor.report.html.template import page_template  # slow import, for this format only

    style = asset("worksheet.css")
    page = page_template(asset("worksheet.html.j2")).render(
        sheet=worksheet, style=style, policy=_policy(style)
    )
    stream.write(page.encode("utf-8"))


def _policy(style: str) -> str:
    """Return the content security policy: nothing but this style.

    Source: W3C Content Security Policy Level 3, section 2.3.1 (hash sources; from memory).
    """
    digest = b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
