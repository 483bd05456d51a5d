"""The cards of the report as Markdown: a table of the worst, and each of these in full, folded."""

from collections.abc import Iterator

from auditor.fleet.estate import EstateSummary
from auditor.report import markdown_reach
from auditor.report.deviation_view import accepted_score_of, accepted_text
from auditor.report.evidence_text import observed_text, with_expected
from auditor.report.figures import percent_text, severity_text, title_of
from auditor.report.markdown_text import code, folded, html_code, prose, table
from auditor.report.markdown_times import card_time_lines
from auditor.report.reach_view import TITLE
from auditor.report.verdict import counted
from auditor.report.writer import Run
from auditor.rules.evidence import Evidence
from auditor.scoring.assessment import CardAssessment, Finding, score_of
from auditor.scoring.xccdf import Model

_SHOWN_CARDS = 100
_SHOWN_IN_FULL = 50
_SHOWN_FINDINGS = 200
_SHOWN_MISSING = 50


def card_lines(run: Run, summary: EstateSummary) -> list[str]:
    """Return the section of the cards, worst first; it says how many it leaves out."""
    if not summary.whole.cards:
        return []
    model = () if run.model is Model.FLAT else (f"{run.model.value}:",)
    aside = ("deviations aside:",) if run.deviations else ()
    columns = (
        "card",
        "site",
        "feeds",
        "worst",
        "score:",
        *aside,
        *model,
        "coverage %:",
        "findings:",
        "undecided:",
    )
    rows = [_row(run, card) for card in summary.worst_cards[:_SHOWN_CARDS]]
    lines = ["## Cards, worst first", "", *table(columns, rows)]
    if len(rows) < summary.whole.cards:
        more = counted(summary.whole.cards - len(rows), "card")
        lines += ["", f"… and {more} more, none worse; the formats json and ndjson hold every card."]
    for card in summary.worst_cards[:_SHOWN_IN_FULL]:
        if card.findings or card.missing:
            lines += ["", *_in_full(run, card, is_alone=summary.whole.cards == 1)]
    return lines


def _row(run: Run, card: CardAssessment) -> tuple[str, ...]:
    other = () if run.model is Model.FLAT else (percent_text(score_of(card.results, run.model).percent),)
    return (
        code(card.card.id),
        code(card.card.site),
        code(card.card.feeds),
        card.worst.value,
        percent_text(card.score.percent),
        *((percent_text(accepted_score_of(card).percent),) if run.deviations else ()),
        *other,
        percent_text(card.coverage_percent),
        str(len(card.findings)),
        str(len(card.missing)),
    )


def _in_full(run: Run, card: CardAssessment, *, is_alone: bool) -> list[str]:
    findings = counted(len(card.findings), "finding")
    summary = (
        f"{html_code(card.card.id)}: {card.worst.value}, score {percent_text(card.score.percent)}, {findings}"
    )
    shown = [*_findings(card), *_missing(card)]
    if is_alone:
        return folded(summary, shown)
    ways = markdown_reach.card_lines(card, f"**{TITLE}**")
    return folded(summary, [*ways, *card_time_lines(run, card), *shown])


def _findings(card: CardAssessment) -> list[str]:
    if not card.findings:
        return []
    columns = ("severity", "what is wrong", "rule", "where", "observed → expected")
    rows = [_finding(finding) for finding in card.findings[:_SHOWN_FINDINGS]]
    lines = table(columns, rows)
    more = len(card.findings) - _SHOWN_FINDINGS
    return [*lines, "", f"… and {counted(more, 'finding')} more."] if more > 0 else lines


def _finding(finding: Finding) -> tuple[str, ...]:
    return (
        severity_text(finding),
        prose(title_of(finding, finding.rule.title)),
        code(finding.rule.id),
        code(finding.label or finding.pointer) or finding.outcome.value,
        "<br>".join(_said(finding)) or prose(finding.message),
    )


def _said(finding: Finding) -> Iterator[str]:
    for evidence, expected in with_expected(finding.evidence):
        yield f"{_named(evidence)} {code(observed_text(evidence))} → {code(expected)}"
    if finding.deviation is not None:
        yield f"**{prose(accepted_text(finding.deviation))}**"


def _named(evidence: Evidence) -> str:
    return code(f"{evidence.fact} of {evidence.pointer}" if evidence.fact else evidence.pointer)


def _missing(card: CardAssessment) -> list[str]:
    wanted = dict.fromkeys(evidence.pointer for missing in card.missing for evidence in missing.evidence)
    if not wanted:
        return []
    shown = ", ".join(code(pointer) for pointer in list(wanted)[:_SHOWN_MISSING])
    more = len(wanted) - _SHOWN_MISSING
    rest = f" and {more} more" if more > 0 else ""
    undecided = counted(len(card.missing), "result")
    return ["", f"{undecided} could not be decided. To decide, capture {shown}{rest}."]
