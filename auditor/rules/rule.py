"""Rules, rulesets and their parameters, as frozen data; ``loading`` makes them."""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from auditor.dataclass import dataclass
from auditor.rules.condition import Condition


@dataclass(frozen=True, slots=True)
class Parameter:
    """A named threshold. ``value`` is a number, text, truth or list; ``unit`` may be empty."""

    name: str
    value: Any
    unit: str
    meaning: str
    source: str


class VisitTime(StrEnum):
    """A value that is known only at the visit: its day, or its moment."""

    DAY = "the day of the visit"
    MOMENT = "the moment of the visit"


@dataclass(frozen=True, slots=True)
class Change:
    """A setting and a value that would pass; ``value`` may be a ``VisitTime``.

    ``pointer`` lies inside the member, if the rule has one. ``parameter`` names the parameter
    that the value comes from, if any; ``is_first`` is true where that is a list and the
    setting takes one value: the first of them. Both are bound when the tailoring is known.
    """

    pointer: str
    value: Any
    parameter: str = ""
    is_first: bool = False


@dataclass(frozen=True, slots=True)
class Ask:
    """A setting whose new value only the site knows, and what to ask the site for."""

    pointer: str
    what: str


@dataclass(frozen=True, slots=True)
class Mend:
    """How to put a finding right: in words, and as what the settings then are.

    ``settings`` are values that would pass. ``new_secrets`` are secrets to be made anew; the
    value of such a change is the least number of characters. ``asks`` are settings whose
    values come from the site. ``recipe`` names a way of mending that has to look at the whole
    record, empty for none; the procedure knows the recipes.
    """

    text: str
    settings: tuple[Change, ...] = ()
    new_secrets: tuple[Change, ...] = ()
    asks: tuple[Ask, ...] = ()
    recipe: str = ""


@dataclass(frozen=True, slots=True)
class Visit:
    """What mending means for a visit: restart needed, way in at stake, mends that come first.

    ``after`` names rules. ``needs`` and ``provides`` are words of our own, such as ``https``:
    what provides a word comes before what needs it. Mends of one ``work`` at one place are one
    step. ``minutes`` is the time at the card, 0 for the usual. ``is_last`` puts a mend behind
    all others. ``at_desk`` marks what is not done at the card. ``opens_first`` names the recipe
    that opens another way in, where this mend would close the last.
    """

    restart: bool = False
    cuts_access: bool = False
    output_risk: bool = False
    after: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()
    provides: tuple[str, ...] = ()
    work: str = ""
    minutes: int = 0
    is_last: bool = False
    at_desk: bool = False
    opens_first: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Rule:
    """One requirement; equal only to itself.

    ``for_each`` is the pointer of a list (one result a member) or empty (one result a card);
    ``for_each_tokens`` its tokens. ``applies_when`` is None where the rule always applies.
    ``vector`` is the CCSS base vector (NIST IR 7502). ``judges_evidence`` marks rules on how
    much is known: they are judged last, on the outcomes of the others.
    """

    id: str
    title: str
    family: str
    for_each: str
    for_each_tokens: tuple[str, ...]
    applies_when: Condition | None
    require: Condition
    unknown_matters: bool
    judges_evidence: bool
    vector: str
    vector_because: str
    why: str
    mend: Mend
    verify: str
    sources: tuple[str, ...]
    visit: Visit | None
    ruleset: str
    file: str
    line: int


@dataclass(frozen=True, slots=True)
class Ruleset:
    """A file of rules. ``digest`` is the SHA-256 of the file, hexadecimal."""

    name: str
    title: str
    version: str
    parameters: Mapping[str, Parameter]
    rules: tuple[Rule, ...]
    file: str
    digest: str
