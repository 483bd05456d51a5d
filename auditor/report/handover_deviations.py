"""Deviations card by card, for a handover pack: what, by whom, why, until when. Holds no markup."""

from collections import Counter
from collections.abc import Sequence
from datetime import UTC, date, datetime
from enum import StrEnum

from auditor.dataclass import dataclass
from auditor.report.figures import one_line, severity_text
from auditor.report.verdict import counted
from auditor.rules.program import Program
from auditor.scoring.assessment import CardAssessment, Finding
from auditor.scoring.deviation import Defect, Deviation, DeviationSet, can_be_accepted


class Force(StrEnum):
    """Whether a deviation covers anything on a card; all but ``in force`` leave everything open."""

    IN_FORCE = "in force"
    IDLE = "matches no finding"
    EXPIRED = "expired"
    NOT_YET = "not yet approved"
    WITHOUT_OWNER = "without an owner"


_DEFECTS = {
    Defect.EXPIRED: Force.EXPIRED,
    Defect.NOT_YET: Force.NOT_YET,
    Defect.WITHOUT_OWNER: Force.WITHOUT_OWNER,
}


@dataclass(frozen=True, slots=True)
class DeviationText:
    """A deviation that is about a card: its terms, and how it stands on the day.

    ``findings`` are those of the card that it is about: covered where it is in force, else left open.
    """

    deviation: Deviation
    title: str
    reason: str
    force: Force
    left: str
    findings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CardDeviations:
    """The deviations about one card, in the order of their file."""

    card_id: str
    deviations: tuple[DeviationText, ...]


def card_deviations(
    card: CardAssessment, given: DeviationSet | None, program: Program, as_of: datetime
) -> CardDeviations:
    """Return the deviations about a card; none where none were given."""
    day = as_of.astimezone(UTC).date()
    titles = {rule.id: one_line(rule.title) for rule in program.rules}
    about = [each for each in (given.deviations if given else ()) if each.is_about_card(card.card.id)]
    return CardDeviations(
        card.card.id, tuple(_text(each, card, titles.get(each.rule, each.rule), day) for each in about)
    )


def standing_counts(cards: Sequence[CardDeviations]) -> str:
    """Return how many deviations stand how, in a sentence; empty where there are none."""
    counts = Counter(each.force for card in cards for each in card.deviations)
    if not counts:
        return ""
    said = ", ".join(f"{counts[force]} {force}" for force in Force if counts[force])
    return f"{counted(counts.total(), 'deviation')} on {_with_any(cards)}: {said}."


def _with_any(cards: Sequence[CardDeviations]) -> str:
    return counted(sum(bool(card.deviations) for card in cards), "card")


def _text(deviation: Deviation, card: CardAssessment, title: str, day: date) -> DeviationText:
    met = tuple(_finding_text(found) for found in card.findings if _is_about(deviation, found))
    return DeviationText(
        deviation,
        title,
        one_line(deviation.reason),
        _force(deviation.defects(day), met),
        _left(deviation, day),
        met,
    )


def _is_about(deviation: Deviation, finding: Finding) -> bool:
    about = deviation.is_about(finding.rule.id, finding.pointer, finding.label)
    return about and can_be_accepted(finding.outcome)


def _force(defects: Sequence[Defect], met: Sequence[str]) -> Force:
    if defects:
        return _DEFECTS[defects[0]]
    return Force.IN_FORCE if met else Force.IDLE


def _left(deviation: Deviation, day: date) -> str:
    """Return how long a deviation still holds; its last day counts."""
    days = (deviation.expires - day).days
    if days < 0:
        return f"ended {counted(-days, 'day')} ago"
    return f"{counted(days, 'day')} left" if days else "today is its last day"


def _finding_text(finding: Finding) -> str:
    member = f"{finding.label}: " if finding.label else ""
    return f"{member}{severity_text(finding)}"
