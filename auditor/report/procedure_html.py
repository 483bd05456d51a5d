"""A procedure as one HTML page made for paper: nothing fetched, no script, only its own style."""

import hashlib
from base64 import b64encode
from typing import BinaryIO

from auditor.report.html.asset import asset
from auditor.report.visit_sheet import Sheet
from auditor.report.visit_words import OUTPUT, RESTART


def write_html(sheet: Sheet, stream: BinaryIO, *, paper: str = "") -> None:
    """Write the page; ``paper`` is a size of CSS, such as ``A4``, or empty for what the printer holds."""
    from auditor.report.html.template import page_template  # slow import, for this format only

    style = asset("procedure.css") + paged_style(sheet, paper)
    page = page_template(asset("procedure.html.j2")).render(
        sheet=sheet, style=style, policy=policy_of(style), output=OUTPUT, restart=RESTART
    )
    stream.write(page.encode("utf-8"))


def paged_style(sheet: Sheet, paper: str) -> str:
    """Return the style of the pages' margins: card, date, rulesets and page number on each."""
    cards = ", ".join(card.id for card in sheet.cards[:3]) + (" …" if len(sheet.cards) > 3 else "")  # noqa: PLR2004 - room in the margin
    return margins(f"Procedure: {cards}", f"{sheet.as_of:%Y-%m-%d}", ", ".join(sheet.rulesets), paper)


def margins(title: str, date: str, rulesets: str, paper: str = "") -> str:
    """Return the running heads and feet of pages. Source: CSS Paged Media Level 3 (margin boxes)."""
    size = f"size: {paper};" if paper else ""
    return (
        f"@page {{ {size} margin: 17mm 13mm 18mm;"
        f" @top-left {{ content: {css_text(title)}; }}"
        f" @top-right {{ content: {css_text(date)}; }}"
        f" @bottom-left {{ content: {css_text(rulesets)}; }}"
        ' @bottom-center { content: "Initials: ____________"; }'
        ' @bottom-right { content: "Page " counter(page) " of " counter(pages); } }\n'
    )


def css_text(text: str) -> str:
    """Return a text as a string of CSS in which nothing can end the string.

    Source: CSS Syntax Level 3 section 4.3.5 (strings) and 4.3.7 (escapes).
    """
    return '"' + "".join(c if c.isalnum() or c in " .,:;-_/@" else f"\\{ord(c):x} " for c in text) + '"'


def policy_of(style: str) -> str:
    """Return the content security policy: nothing but this style.

    Source: W3C Content Security Policy Level 3, section 2.3.1 (hash sources; from memory).
    """
    digest = b64encode(hashlib.sha256(style.encode()).digest()).decode()
    return f"default-src 'none'; style-src 'sha256-{digest}'; base-uri 'none'; form-action 'none'"
