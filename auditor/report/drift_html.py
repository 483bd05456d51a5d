"""Drift as one self-contained page, in the look of the report of an audit."""

from auditor.report import drift_view
from auditor.report.drift_view import Drift
from auditor.report.html.asset import asset
from auditor.report.html.page import policy
from auditor.report.html.template import page_template
from auditor.report.writer import Look, Run


def drift_html(drift: Drift, run: Run, look: Look) -> bytes:  # noqa: ARG001 - a page has no columns
    """Return the drift as a page; nothing in it acts or is fetched."""
    style = asset("style.css") + asset("change.css")
    template = page_template(asset("drift.html.j2"))
    broken = drift_view.word_of(drift) != "steady"
    said = {"drift": drift, "run": run, "says": drift_view, "broken": broken}
    page = template.render(**said, style=style, policy=policy(style, ""))
    return page.encode()
