"""What to heed when the findings of a rule are mended, in sentences for every report. Holds no format."""

from collections.abc import Iterable

from auditor.rules.rule import Rule
from auditor.scoring.assessment import CardAssessment

RESTARTS = "The card restarts."
CUTS_ACCESS = "This can cut off the way in: keep a second way open."
OUTPUT_RISK = "This can touch the output: treat the load as at risk."


class FoundTogether:
    """Takes cards one by one, and keeps only which rules to mend first were found on the same card."""

    def __init__(self, rules: Iterable[Rule]) -> None:
        """Start with no card."""
        self._after = {rule.id: rule.visit.after for rule in rules if rule.visit and rule.visit.after}
        self._found: dict[str, set[str]] = {name: set() for name in self._after}

    def add(self, assessment: CardAssessment) -> None:
        """Take the findings of one card."""
        here = {finding.rule.id for finding in assessment.findings}
        for name in here & self._after.keys():
            self._found[name] |= here.intersection(self._after[name])

    def before(self, rule: Rule) -> tuple[str, ...]:
        """Return the ids of the rules to mend first that were found on a card with this one."""
        found = self._found.get(rule.id, ())
        return tuple(name for name in self._after.get(rule.id, ()) if name in found)


def found_on(assessment: CardAssessment) -> FoundTogether:
    """Return which rules were found together on one card."""
    together = FoundTogether({finding.rule for finding in assessment.findings})
    together.add(assessment)
    return together


def care_of(rule: Rule, together: FoundTogether) -> tuple[str, ...]:
    """Return what mending means for a visit, in sentences; none where the rule says nothing of it."""
    if rule.visit is None:
        return ()
    before = together.before(rule)
    said = (
        (rule.visit.restart, RESTARTS),
        (rule.visit.cuts_access, CUTS_ACCESS),
        (rule.visit.output_risk, OUTPUT_RISK),
        (bool(before), f"First mend: {', '.join(before)}."),
    )
    return tuple(sentence for holds, sentence in said if holds)
