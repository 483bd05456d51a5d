"""A gate's decision as JUnit XML: a suite a card that changed, a case a cause to hold."""

from collections.abc import Iterator, Sequence

from auditor.change.gate import Cause, Decision
from auditor.report.gate_view import (
    EXPLAINED,
    ReasonRow,
    move_line,
    noted_lines,
    reason_rows,
    verdict_sentence,
)
from auditor.report.junit import Case, document, suite
from auditor.report.writer import Look, Run

_OF_CARDS = tuple(cause for cause in Cause if cause is not Cause.RECORD_UNUSABLE)


def gate_junit(decision: Decision, run: Run, look: Look) -> bytes:  # noqa: ARG001 - XML has one look
    """Return the decision as XML; a decision on no card is one case that passes."""
    rows = reason_rows(decision)
    cards = {card.card_id: card for card in decision.cards}
    broken = list(_broken(rows))
    suites = [suite("records", broken, "", run)] if broken else []
    for card_id, card in cards.items():
        own = [row for row in rows if row.card_id == card_id]
        file = (card.after or card.before).record.file if card.after or card.before else ""  # type: ignore[union-attr]
        moved = "\n".join(map(move_line, card.moves))
        cases = [*_cases(own, moved), *_noted(list(noted_lines(card, decision)))]
        suites.append(suite(card_id, cases, file, run))
    none = Case("no card changed", "gate", text=verdict_sentence(decision))
    return document(suites or [suite("gate", [none], "", run)])


def _broken(rows: Sequence[ReasonRow]) -> Iterator[Case]:
    for row in rows:
        for fault in row.reason.faults:
            yield Case(fault.file, "records", "error", row.reason.cause.value, fault.problem, str(fault))


def _noted(lines: Sequence[str]) -> Iterator[Case]:
    """Yield what is new and does not hold: below the band, or somebody answers for it."""
    if lines:
        yield Case("noted", "gate", "skipped", "", "new, and does not hold", "\n".join(lines))


def _cases(rows: Sequence[ReasonRow], moved: str) -> Iterator[Case]:
    """Yield a case a cause; the first that fails says which settings of the card changed."""
    changed = f"\nSettings changed:\n{moved}" if moved else ""
    for cause in _OF_CARDS:
        own = [row for row in rows if row.reason.cause is cause]
        if own:
            text = "\n".join(f"{row.badge}: {row.says}" for row in own)
            yield Case(cause.value, "gate", "failure", cause.value, EXPLAINED[cause], text + changed)
            changed = ""
        else:
            yield Case(cause.value, "gate")
