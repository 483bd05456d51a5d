"""Outcomes of rules, before scoring: what XCCDF calls rule results."""

from enum import StrEnum

from auditor.dataclass import dataclass
from auditor.rules.condition import Seen
from auditor.rules.rule import Rule


class Outcome(StrEnum):
    """Outcome of a rule. Source: XCCDF 1.2, NIST IR 7275r4, table of rule-result values."""

    PASS = "pass"  # noqa: S105 - an outcome, not a password
    FAIL = "fail"
    UNKNOWN = "unknown"
    NOTAPPLICABLE = "notapplicable"
    NOTSELECTED = "notselected"
    ERROR = "error"


@dataclass(frozen=True, slots=True)
class Departure:
    """One result that is not a pass: of the card, or of one member of a list.

    ``pointer`` is the member's, or empty. ``label`` names the member for people.
    ``message`` words the fault of an ``error``, else it is empty.
    """

    pointer: str
    label: str
    outcome: Outcome
    seen: tuple[Seen, ...]
    message: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class RuleResult:
    """What a rule said of a card; equal only to itself.

    ``passed`` of ``counted`` results passed; both are 0 where the rule does not apply.
    ``outcome`` is the worst of them: error, fail, unknown, pass, then notapplicable.
    ``departures`` holds those that failed, erred or stayed unknown.
    """

    rule: Rule
    outcome: Outcome
    passed: int
    counted: int
    departures: tuple[Departure, ...] = ()
