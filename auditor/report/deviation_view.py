"""Deviations in words and rows for every report: what is accepted, by whom, until when. Holds no format."""

from typing import Any

from auditor.dataclass import dataclass
from auditor.fleet.estate import EstateSummary, GroupSum
from auditor.report.figures import one_line, percent_text
from auditor.report.plain import plain
from auditor.report.verdict import counted
from auditor.report.writer import Run
from auditor.scoring.assessment import CardAssessment, Finding
from auditor.scoring.deviation import Deviation
from auditor.scoring.deviation_finding import DeviationFinding
from auditor.scoring.xccdf import Score

TITLE = "Deviations"
INTRODUCTION = (
    "A finding under a deviation stays a finding and stays in the score; it does not hold. "
    "Somebody answers for it, until a day."
)


@dataclass(frozen=True, slots=True)
class UseRow:
    """A deviation in force, in words: what it covers, for whom, until when, why."""

    rule: str
    about: str
    covers: str
    owner: str
    expires: str
    ticket: str
    reason: str


@dataclass(frozen=True, slots=True)
class FaultRow:
    """What is wrong with a deviation, in words; ``severity`` is band and score."""

    finding: DeviationFinding
    severity: str
    where: str
    says: str


def accepted_text(deviation: Deviation) -> str:
    """Return by whom, until when and by which ticket something is accepted."""
    ticket = f", ticket {deviation.ticket}" if deviation.ticket else ""
    return f"accepted until {deviation.expires}, {deviation.owner} answers for it{ticket}"


def accepted_score_of(assessment: CardAssessment) -> Score:
    """Return the score of a card with accepted deviations set aside."""
    return assessment.score if assessment.accepted_score is None else assessment.accepted_score


def aside_text(run: Run, score: Score) -> str:
    """Return the score with accepted deviations set aside, in words; empty where none were given."""
    return f"{percent_text(score.percent)} with accepted deviations set aside" if run.deviations else ""


def share_text(accepted: int, findings: int) -> str:
    """Return how many of some findings are accepted, in words; empty for none."""
    if not accepted:
        return ""
    return "accepted" if accepted == findings else f"{accepted} accepted"


def accepted_among(whole: GroupSum) -> str:
    """Return how many findings deviations cover, in words; empty where they cover none."""
    return f"{counted(whole.accepted, 'finding')} under a deviation" if whole.accepted else ""


def use_rows(summary: EstateSummary) -> tuple[UseRow, ...]:
    """Return the deviations in force that cover a finding, in the order of their file."""
    uses = summary.deviations.uses if summary.deviations else ()
    return tuple(
        UseRow(
            use.deviation.rule,
            _about(use.deviation),
            f"{counted(use.findings, 'finding')} on {counted(use.cards, 'card')}",
            use.deviation.owner,
            use.deviation.expires.isoformat(),
            use.deviation.ticket,
            one_line(use.deviation.reason),
        )
        for use in uses
    )


def fault_rows(summary: EstateSummary) -> tuple[FaultRow, ...]:
    """Return what is wrong with deviations, worst first."""
    found = summary.deviations.findings if summary.deviations else ()
    return tuple(
        FaultRow(
            each,
            f"{each.band.value} {each.severity.score}",
            f"{each.deviation.file}:{each.deviation.line}",
            fault_text(each),
        )
        for each in found
    )


def fault_text(found: DeviationFinding) -> str:
    """Return what is wrong with a deviation in a sentence, with what it leaves open."""
    deviation = found.deviation
    parts = [f"rule {deviation.rule}, {_about(deviation)}"]
    match found.id:
        case "deviation-expired":
            parts.append(f"ended on {deviation.expires}")
        case "deviation-not-yet-approved":
            parts.append(f"to be approved on {deviation.approved}")
        case "deviation-too-long":
            most = deviation.days - deviation.days_too_many
            parts.append(f"lasts {deviation.days} days from its approval, at most {most} are allowed")
        case "deviation-overlapping" if found.beside is not None:
            parts.append(f"the one on line {found.beside.line} covers the same")
    if found.findings:
        verb = "both cover" if found.beside is not None else "leaves open"
        on = f"{counted(found.findings, 'finding')} on {counted(found.cards, 'card')}"
        parts.append(f"{verb} {on}, for example {found.example_card}")
    return "; ".join(parts)


def _about(deviation: Deviation) -> str:
    cards = f"cards {', '.join(deviation.cards)}"
    return f"{cards}, {deviation.member}" if deviation.member else cards


def deviation_document(deviation: Deviation) -> dict[str, Any]:
    """Return a deviation as ``$defs/deviation`` of ``result-1.schema.json`` says."""
    named = {"member": deviation.member, "owner": deviation.owner, "ticket": deviation.ticket}
    return {
        "rule": deviation.rule,
        "cards": list(deviation.cards),
        **{name: value for name, value in named.items() if value},
        "reason": deviation.reason,
        "approved": deviation.approved.isoformat(),
        "expires": deviation.expires.isoformat(),
        "file": plain(deviation.file),
        "line": deviation.line,
    }


def mark_document(finding: Finding) -> dict[str, Any]:
    """Return by which deviation a finding is accepted, as a member of its document; empty for none."""
    deviation = finding.deviation
    if deviation is None:
        return {}
    named = {"owner": deviation.owner, "expires": deviation.expires.isoformat(), "ticket": deviation.ticket}
    marked = {name: value for name, value in named.items() if value}
    return {"deviation": {**marked, "reason": deviation.reason, "line": deviation.line}}


def review_document(summary: EstateSummary) -> dict[str, Any]:
    """Return how the deviations of a run stand, as a member of the summary; empty where none were given."""
    review = summary.deviations
    if review is None:
        return {}
    in_force = [
        {"deviation": deviation_document(use.deviation), "findings": use.findings, "cards": use.cards}
        for use in review.uses
    ]
    return {"deviations": {"in_force": in_force, "findings": [_fault(each) for each in review.findings]}}


def _fault(found: DeviationFinding) -> dict[str, Any]:
    beside = {"beside": deviation_document(found.beside)} if found.beside is not None else {}
    example = {"example_card": found.example_card} if found.example_card else {}
    return {
        "id": found.id,
        "title": found.what.title,
        "deviation": deviation_document(found.deviation),
        **beside,
        "findings": found.findings,
        "cards": found.cards,
        **example,
        "severity": float(found.severity.score),
        "band": found.band.value,
        "vector": found.severity.vector,
        "because": found.what.because,
        "mend": found.what.mend,
    }
