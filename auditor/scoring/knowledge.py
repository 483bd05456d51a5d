"""How much is known of a card: settings of the schema, and rules that can be decided."""

from collections.abc import Mapping
from typing import Any

from auditor.dataclass import dataclass
from auditor.record.outline import ANY, outline
from auditor.record.pointer import value_at
from auditor.rules.result import Outcome
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.next_capture import CaptureStep, what_to_capture_next


@dataclass(frozen=True, slots=True)
class Knowledge:
    """What is known of a card, and what to capture next.

    ``known`` of ``settings`` members of the schema are known (a list counts as one).
    ``decided`` rules are decided, ``undecided`` ones wait for a setting, by id, in the order
    of the rules; the others do not apply.
    """

    known: int
    settings: int
    decided: tuple[str, ...]
    undecided: tuple[str, ...]
    next_steps: tuple[CaptureStep, ...]


def knowledge_of(settings: Mapping[str, Any], assessment: CardAssessment) -> Knowledge:
    """Return what is known of a card and what its rules still wait for."""
    places = [leaf.tokens for leaf in outline() if ANY not in leaf.tokens]
    known = sum(value_at(settings, tokens) is not None for tokens in places)
    unknown = [finding for finding in assessment.findings if finding.outcome is Outcome.UNKNOWN]
    decided = (Outcome.PASS, Outcome.FAIL)
    return Knowledge(
        known,
        len(places),
        tuple(result.rule.id for result in assessment.results if result.outcome in decided),
        tuple(r.rule.id for r in assessment.results if r.outcome is Outcome.UNKNOWN),
        what_to_capture_next([*assessment.missing, *unknown]),
    )
