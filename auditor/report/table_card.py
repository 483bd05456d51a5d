"""One card for a terminal: every finding with its evidence and how to mend it."""

from collections.abc import Iterable, Iterator
from itertools import chain, groupby

from auditor.report.deviation_view import accepted_score_of, accepted_text, aside_text
from auditor.report.evidence_text import observed_text, with_expected
from auditor.report.figures import (
    capture_text,
    is_unknown,
    one_line,
    percent_text,
    severity_text,
    title_of,
    whereabouts,
)
from auditor.report.ink import OF_BAND, Style
from auditor.report.layout import wrap
from auditor.report.mend_care import FoundTogether, care_of, found_on
from auditor.report.plain import plain
from auditor.report.table_notes import Page, run_line
from auditor.report.table_reach import card_block
from auditor.report.table_times import card_times
from auditor.report.verdict import counted
from auditor.rules.evidence import Evidence
from auditor.rules.rule import Rule
from auditor.scoring.assessment import CardAssessment, Finding, score_of
from auditor.scoring.xccdf import Model

_INDENT = " " * 15
_BADGE = 13
_SHOWN_PLACES = 10
_SHOWN_MISSING = 12


def card_blocks(page: Page, assessment: CardAssessment) -> Iterator[list[str]]:
    """Yield who the card is and its sums, its findings, and what is not known of it."""
    yield [*_identity(page, assessment), *_sums(page, assessment), *run_line(page)]
    yield card_block(page, assessment)
    yield card_times(page, assessment)
    if assessment.findings:
        note = f"{counted(len(assessment.findings), 'finding')}, observed → expected"
        yield [page.heading("Worst first", note)]
    together = found_on(assessment)
    for _, findings in groupby(assessment.findings, key=_rule):
        for alike in _apart(list(findings)):
            yield _finding(page, alike, together)
    yield _missing(page, assessment)


def _rule(finding: Finding) -> Rule:
    return finding.rule


def _apart(findings: list[Finding]) -> Iterator[list[Finding]]:
    """Yield what is known to be wrong, then what is not known: these ask for different work."""
    for unknown in (False, True):
        if alike := [finding for finding in findings if is_unknown(finding) is unknown]:
            yield alike


def _identity(page: Page, assessment: CardAssessment) -> list[str]:
    card = assessment.card
    feeds = f"feeds: {card.feeds or 'not said'}"
    parts = [card.id, card.name, *whereabouts(card.site, card.location), card.kind, feeds]
    first, *rest = page.joined(parts)
    return [page.ink(first, Style.STRONG), *rest]


def _sums(page: Page, assessment: CardAssessment) -> list[str]:
    score, findings = assessment.score, assessment.findings
    parts = [
        f"score {percent_text(score.percent)} of 100 ({score.points:.1f} of {score.maximum:.1f} points)",
        aside_text(page.run, accepted_score_of(assessment)),
        f"coverage {percent_text(assessment.coverage_percent)} %",
        f"worst {severity_text(findings[0]) if findings else 'none'}",
    ]
    model = page.run.model
    if model is not Model.FLAT:
        other = score_of(assessment.results, model)
        parts.append(f"{model.value} {percent_text(other.percent)} of 100")
    return page.joined(parts)


def _finding(page: Page, findings: list[Finding], together: FoundTogether) -> list[str]:
    worst, rule = findings[0], findings[0].rule
    badge = f"{worst.band.value:<8} {worst.severity.score:>4}"
    named = title_of(worst, one_line(rule.title))
    title = wrap(plain(named), page.width, first=_INDENT, later=_INDENT)
    title[0] = f"{page.ink(badge, OF_BAND[worst.band.value])}{title[0][_BADGE:]}"
    lines = [*title, _INDENT + page.ink(rule.id, Style.FAINT)]
    for finding in findings[:_SHOWN_PLACES]:
        lines += _evidence(page, finding)
    if len(findings) > _SHOWN_PLACES:
        lines.append(f"{_INDENT}… and {counted(len(findings) - _SHOWN_PLACES, 'place')} more")
    if is_unknown(worst):
        return lines + page.wrapped(capture_text(findings), _INDENT)
    lines += page.wrapped(f"Mend: {one_line(rule.mend.text)}", _INDENT)
    care = " ".join(care_of(rule, together))
    return lines + page.wrapped(f"Heed: {care}", _INDENT) if care else lines


def _evidence(page: Page, finding: Finding) -> Iterable[str]:
    name = f"{finding.label}: " if finding.label else ""
    if finding.message:
        return page.wrapped(f"{name}{finding.message}", _INDENT)
    said = [name + _said(*each) for each in with_expected(finding.evidence)]
    if finding.deviation is not None:
        said.append(f"{name}{accepted_text(finding.deviation)}")
    return chain.from_iterable(page.wrapped(text, _INDENT) for text in said)


def _said(evidence: Evidence, expected: str) -> str:
    fact = f" {evidence.fact}" if evidence.fact else ""
    return f"{evidence.pointer}{fact}: {observed_text(evidence)} → {expected}"


def _missing(page: Page, assessment: CardAssessment) -> list[str]:
    wanted = list(
        dict.fromkeys(evidence.pointer for missing in assessment.missing for evidence in missing.evidence)
    )
    if not wanted:
        return []
    note = counted(len(assessment.missing), "undecided result")
    shown = ", ".join(wanted[:_SHOWN_MISSING])
    more = len(wanted) - _SHOWN_MISSING
    rest = f" and {more} more" if more > 0 else ""
    return [page.heading("Not known", note), *page.wrapped(f"Capture {shown}{rest}.")]
