"""A gate's decision as one self-contained page, in the look of the report of an audit."""

from auditor.change.gate import Decision
from auditor.report import gate_view
from auditor.report.html.asset import asset
from auditor.report.html.page import policy
from auditor.report.html.template import page_template
from auditor.report.writer import Look, Run


def gate_html(decision: Decision, run: Run, look: Look) -> bytes:  # noqa: ARG001 - a page has no columns
    """Return the decision as a page; nothing in it acts or is fetched."""
    style = asset("style.css") + asset("change.css")
    template = page_template(asset("gate.html.j2"))
    said = {"decision": decision, "run": run, "says": gate_view, "broken": decision.held}
    page = template.render(**said, style=style, policy=policy(style, ""))
    return page.encode()
