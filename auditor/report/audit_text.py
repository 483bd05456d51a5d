"""What an audit came to in a line: for a run whose reports went to files alone."""

from collections.abc import Iterator

from auditor.fleet.estate import EstateSummary
from auditor.report.figures import severity_text
from auditor.report.plain import plain
from auditor.report.verdict import verdict
from auditor.scoring.assessment import CardAssessment


def audit_text(summary: EstateSummary) -> str:
    """Return one line: the verdict with its figures, and the worst card if any."""
    return " ".join([str(verdict(summary)), *_worst(summary)])


def _worst(summary: EstateSummary) -> Iterator[str]:
    """Yield a sentence on the card with the worst finding that nobody answers for."""
    for card in sorted(summary.worst_cards, key=_open_rank)[:1]:
        for finding in [found for found in card.findings if found.deviation is None][:1]:
            yield f"Worst card: {plain(card.card.id)}, {severity_text(finding)}."


def _open_rank(card: CardAssessment) -> int:
    return -card.open_worst.rank
