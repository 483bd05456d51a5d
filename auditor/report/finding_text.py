"""A finding on one line: what is wrong, where, what was observed and what was expected.

For reports that also tell what a change moves: there an arrow stands for before and after alone,
so observed and expected are said in words.
"""

from auditor.report.evidence_text import observed_text
from auditor.report.figures import one_line, title_of
from auditor.rules.evidence import CANT_BE_TOLD, Evidence
from auditor.scoring.assessment import Finding


def finding_line(finding: Finding) -> str:
    """Return a finding on one line, as it stands in the record: the caller makes it plain."""
    title = title_of(finding, one_line(finding.rule.title))
    member = f" ({finding.label})" if finding.label else ""
    said = "; ".join(_said(each) for each in finding.evidence) or finding.message
    return f"{title}{member}: {said}" if said else f"{title}{member}"


def _said(evidence: Evidence) -> str:
    fact = f" {evidence.fact}" if evidence.fact else ""
    observed = observed_text(evidence)
    said = observed if observed == CANT_BE_TOLD else f"is {observed}"
    return f"{evidence.pointer}{fact} {said}, expected {evidence.asked}"
