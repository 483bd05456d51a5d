"""What a record still departs from: findings by rule and member, cheaply."""

from collections.abc import Mapping
from typing import TypeAlias

from auditor.dataclass import dataclass, replace
from auditor.facts.fact import Context
from auditor.procedure.step import key_of
from auditor.record.reading import Record
from auditor.record.settings import Settings
from auditor.rules.program import Program, judge_card
from auditor.scoring.assessment import CardAssessment, Finding, assess, is_finding, place_of

Key: TypeAlias = tuple[str, str]
"""Rule and member of a finding; the member is empty for the card as a whole."""


@dataclass(frozen=True, slots=True)
class Judge:
    """Judges changed forms of one record by one program; ``context`` knows where the record lies."""

    record: Record
    program: Program
    context: Context

    def findings(self, settings: Settings) -> frozenset[Key]:
        """Return the findings of a changed record."""
        judged = judge_card(self.program, settings, self.context)
        return frozenset(
            (result.rule.id, place_of(departure) if result.rule.for_each else "")
            for result in judged.unusual.values()
            for departure in result.departures
            if is_finding(result.rule, departure.outcome)
        )

    def assessment(self, settings: Settings) -> CardAssessment:
        """Return the whole assessment of a changed record."""
        return assess(replace(self.record, settings=settings), self.program, self.context)

    def in_full(self, settings: Settings) -> Mapping[Key, Finding]:
        """Return the findings of a changed record by their keys, with evidence and severity."""
        return {key_of(finding): finding for finding in self.assessment(settings).findings}
