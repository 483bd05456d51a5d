"""What a gate decided, in words and rows for every format. Holds no format."""

from collections.abc import Iterator

from auditor.change.card_change import CardChange, Lost, State
from auditor.change.compare import Move
from auditor.change.gate import Cause, Decision, Reason, way_text
from auditor.dataclass import dataclass
from auditor.report.deviation_view import accepted_text
from auditor.report.figures import faults_line, one_line, percent_text, severity_text
from auditor.report.finding_text import finding_line
from auditor.report.verdict import counted
from auditor.scoring.assessment import Finding, Missing

CAUSES = {
    Cause.RECORD_UNUSABLE: "unusable",
    Cause.NEW_FINDING: "new finding",
    Cause.WORSENED_FINDING: "worse",
    Cause.EVIDENCE_LOST: "evidence",
    Cause.WAY_TO_SWITCH_OFF: "way to switch",
    Cause.CLEAR_SECRET: "clear secret",
    Cause.CARD_REMOVED: "card removed",
    Cause.CARD_RENAMED: "card renamed",
    Cause.DEVIATION: "deviation",
}
"""Each cause in a word or two, at most thirteen letters."""

EXPLAINED = {
    Cause.RECORD_UNUSABLE: "A changed record that can't be used: nobody knows what it would change.",
    Cause.NEW_FINDING: "A finding that was not there, at or above the band at which you hold.",
    Cause.WORSENED_FINDING: "A finding that was there, now more severe, or known to fail.",
    Cause.EVIDENCE_LOST: "A result that could be decided before, and can't be any more.",
    Cause.WAY_TO_SWITCH_OFF: "A way to switch the load off that was not there, or was harder.",
    Cause.CLEAR_SECRET: "A secret that newly stands in clear in a record.",
    Cause.CARD_REMOVED: "A card that has no record any more.",
    Cause.CARD_RENAMED: "A card of the same serial number or hardware address under another id.",
    Cause.DEVIATION: "A deviation that does not cover any more what it is about.",
}


BEFORE = "Could not be used before the change, and not compared"
"""Heading of what is told of the state before, and does not hold."""


@dataclass(frozen=True, slots=True)
class ReasonRow:
    """A reason in words: ``badge`` is the severity of a finding, else the cause."""

    reason: Reason
    badge: str
    card_id: str
    says: str


def verdict_word(decision: Decision) -> str:
    """Return ``hold`` or ``release``."""
    return "hold" if decision.held else "release"


def verdict_sentence(decision: Decision) -> str:
    """Return why, in a sentence."""
    changed = counted(len(decision.cards), "changed card")
    same = f"{counted(decision.unchanged, 'record')} unchanged"
    if decision.held:
        return f"{'; '.join([*_unusable(decision), *_holding(decision), same])}."
    if not decision.cards:
        return f"no card changed; {same}."
    return f"nothing on {changed} stands against it, held from {decision.hold_at.value}; {same}."


def _unusable(decision: Decision) -> Iterator[str]:
    if number := len(decision.unusable.after):
        yield f"{counted(number, 'changed record')} can't be used"


def _holding(decision: Decision) -> Iterator[str]:
    found = [reason for reason in decision.reasons if not reason.faults]
    changed = counted(len(decision.cards), "changed card")
    if found:
        cards = len({reason.card_id for reason in found})
        yield f"{counted(len(found), 'reason')} on {cards} of {changed}"
    elif decision.cards:
        yield f"nothing on {changed} stands against it"


def before_lines(decision: Decision) -> Iterator[str]:
    """Yield what could not be used before the change: a card in it counts as added."""
    yield from map(faults_line, decision.unusable.before)


def reason_rows(decision: Decision) -> tuple[ReasonRow, ...]:
    """Return the reasons, card by card, findings first and worst first."""
    return tuple(_row(reason) for reason in decision.reasons)


def _row(reason: Reason) -> ReasonRow:
    finding = reason.finding
    if reason.faults:
        return ReasonRow(reason, CAUSES[reason.cause], "", faults_line(reason.faults))
    if finding is None:
        at = f" ({reason.pointer})" if reason.pointer else ""
        return ReasonRow(reason, CAUSES[reason.cause], reason.card_id, f"{one_line(reason.text)}{at}")
    was = f" (was {severity_text(reason.was)}, {reason.was.outcome.value})" if reason.was else ""
    return ReasonRow(reason, severity_text(finding), reason.card_id, finding_line(finding) + was)


def heading(card: CardChange) -> str:
    """Return what became of a card, and its score before and after."""
    if card.state is State.RENAMED and card.before is not None:
        return f"renamed from {card.before.record.card_id}, {_scores(card)}"
    return f"{card.state.value}, {_scores(card)}" if card.after is not None else card.state.value


def _scores(card: CardChange) -> str:
    after = _score(card, "after")
    return f"score {after}" if card.before is None else f"score {_score(card, 'before')} → {after}"


def _score(card: CardChange, side: str) -> str:
    judged = card.before if side == "before" else card.after
    if judged is None:
        return "-"
    score, aside = judged.assessment.score, judged.assessment.accepted_score
    with_aside = f" ({percent_text(aside.percent)} with accepted deviations set aside)" if aside else ""
    return f"{percent_text(score.percent)}{with_aside}"


def move_line(move: Move) -> str:
    """Return a setting that moved on one line."""
    return f"{move.title}: {move.before} → {move.after}"


def noted_lines(card: CardChange, decision: Decision) -> Iterator[str]:
    """Yield what is new or worse on a card and does not hold: accepted, or below the band."""
    for finding in (*card.new, *(pair.after for pair in card.worsened)):
        if finding.deviation is not None:
            yield f"{severity_text(finding)} {finding_line(finding)} ({accepted_text(finding.deviation)})"
        elif finding.band < decision.hold_at:
            yield f"{severity_text(finding)} {finding_line(finding)}"


def better_lines(card: CardChange) -> Iterator[str]:
    """Yield what got better on a card."""
    for finding in card.mended:
        yield f"mended: {severity_text(finding)} {one_line(finding.rule.title)}{_label(finding)}"
    for pair in card.lessened:
        what = f"{one_line(pair.after.rule.title)}{_label(pair.after)}"
        yield f"less severe: {what}, {severity_text(pair.before)} → {severity_text(pair.after)}"
    for found in card.gained:
        yield f"known now: {found.rule.id}{_label(found)} passes or does not apply"
    for way in card.closed_ways:
        yield f"closed: {way_text(way)}"
    if card.sealed:
        yield f"no longer in clear: {counted(card.sealed, 'secret')}"


def _label(found: Finding | Missing | Lost) -> str:
    return f" ({found.label})" if found.label else ""
