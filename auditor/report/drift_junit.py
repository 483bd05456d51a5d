"""Drift as JUnit XML: one suite, a case a card."""

from auditor.change.drift import CardDrift
from auditor.report.drift_view import (
    WEIGHTY,
    WORDS,
    Drift,
    marked_text,
    moved_line,
    notes_of,
    worse_lines,
)
from auditor.report.junit import Case, document, suite
from auditor.report.writer import Look, Run


def drift_junit(drift: Drift, run: Run, look: Look) -> bytes:  # noqa: ARG001 - XML has one look
    """Return the drift as XML: a card fails where it asks for somebody."""
    broken = [
        Case(fault.file, "drift", "error", "unusable", fault.problem, str(fault))
        for faults in drift.faults
        for fault in faults
    ]
    return document([suite("drift", [*broken, *(_case(card) for card in drift.cards)], "", run)])


def _case(card: CardDrift) -> Case:
    if card.standing not in WEIGHTY:
        return Case(card.card_id, "drift")
    said = (*notes_of(card), *map(moved_line, card.moves), *worse_lines(card))
    message = ", ".join(filter(None, (WORDS[card.standing], marked_text(card))))
    return Case(card.card_id, "drift", "failure", card.standing.value, message, "\n".join(said))
