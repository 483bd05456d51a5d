"""Figures, moments and titles as people read them: one way for every report that is text."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import datetime

from auditor.errors import Fault
from auditor.rules.result import Outcome
from auditor.scoring.assessment import Finding
from auditor.scoring.band import Band

_ALL = 100.0
_NEARLY_ALL = 99.9

NOT_ASSESSED = "-"


def percent_text(percent: float | None) -> str:
    """Return a percentage with one decimal, never rounded up to 100; a dash for None."""
    if percent is None:
        return NOT_ASSESSED
    return f"{percent if percent == _ALL else min(percent, _NEARLY_ALL):.1f}"


def bands_text(findings: Mapping[Band, int]) -> str:
    """Return how many findings there are in each band, worst first; they add up to all of them."""
    said = [f"{findings[band]} {band.value}" for band in sorted(Band, reverse=True) if band is not Band.NONE]
    weightless = findings[Band.NONE]
    return ", ".join([*said, *([f"{weightless} at 0.0"] if weightless else [])])


def severity_text(finding: Finding) -> str:
    """Return the band and score of a finding, such as ``critical 9.3``."""
    return f"{finding.band.value} {finding.severity.score}"


def moment_text(moment: datetime) -> str:
    """Return a moment to the minute, with its offset."""
    return f"{moment:%Y-%m-%d %H:%M %Z}"


def is_unknown(finding: Finding) -> bool:
    """Return whether nothing is known to be wrong: not to know is the finding."""
    return finding.outcome is Outcome.UNKNOWN


def title_of(finding: Finding, title: str) -> str:
    """Return what is wrong; where that is not known, the same said so."""
    return f"not known: {title}" if is_unknown(finding) else title


def capture_text(findings: Iterable[Finding]) -> str:
    """Return what to capture so that unknown findings are decided."""
    wanted = dict.fromkeys(evidence.pointer for finding in findings for evidence in finding.evidence)
    return f"Capture {', '.join(wanted)}."


def whereabouts(site: str, location: str) -> tuple[str, ...]:
    """Return the site and the location that are known; a location that begins with its site says both."""
    start = location[: len(site)]
    says_both = start.casefold() == site.casefold() and not location[len(site) :][:1].isalnum()
    return tuple(part for part in ("" if says_both else site, location) if part)


def listed(names: Iterable[str], more: int = 0) -> str:
    """Return names in a row, and how many more there are."""
    return ", ".join(names) + (f" and {more} more" if more else "")


def one_line(text: str) -> str:
    """Return the text of a rule as one line: its author broke lines only for the file."""
    return " ".join(text.split())


def faults_line(faults: Sequence[Fault]) -> str:
    """Return the first fault of a record on one line: where, what, what to do; and how many more."""
    first, *others = faults
    place = ":".join([first.file, *(str(each) for each in (first.line, first.column) if each)])
    at = f" ({first.pointer})" if first.pointer else ""
    more = f" And {len(others)} more." if others else ""
    return f"{place}: {first.problem}{at}. {first.remedy}{more}"
