"""Figures and moments as people read them: one way for every report that is text."""

from datetime import datetime

from auditor.scoring.assessment import Finding

_ALL = 100.0
_NEARLY_ALL = 99.9

NOT_ASSESSED = "-"


def percent_text(percent: float | None) -> str:
    """Return a percentage with one decimal, never rounded up to 100; a dash for None."""
    if percent is None:
        return NOT_ASSESSED
    return f"{percent if percent == _ALL else min(percent, _NEARLY_ALL):.1f}"


def severity_text(finding: Finding) -> str:
    """Return the band and score of a finding, such as ``critical 9.3``."""
    return f"{finding.band.value} {finding.severity.score}"


def moment_text(moment: datetime) -> str:
    """Return a moment to the minute, with its offset."""
    return f"{moment:%Y-%m-%d %H:%M %Z}"


def one_line(text: str) -> str:
    """Return the text of a rule as one line: its author broke lines only for the file."""
    return " ".join(text.split())
