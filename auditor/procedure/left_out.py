"""What a procedure does not do, and why: steps that were refused, findings that remain."""

from enum import StrEnum

from auditor.dataclass import dataclass
from auditor.procedure.step import Step
from auditor.scoring.assessment import Finding


class Reason(StrEnum):
    """Why something is not done in this visit."""

    LAST_WAY = "it would close the last way in that is open to an administrator for certain"
    NO_WAY = "no way in is open to an administrator for certain, and this step could close one"
    CIRCLE = "it waits for steps that wait for it"
    NEW_FINDING = "it would bring about a new finding that no step here can mend"
    WAITS = "it waits for a step that is left out"
    TOO_LONG = "it does not fit into the window, not even alone with what must come before it"
    UNSAFE_PART = "without the steps that wait for a later visit it would close the last way in"
    DESK = "it is not mended at the card: it takes a decision, or work at the desk"
    SITES_VALUE = "only the site knows the value, and without it the finding can't be seen to go"
    NOT_CAPTURED = "the setting was not captured: read it off first, then decide"
    NO_ADDRESS = "the address that you work from was not given, so the filter might shut you out"
    NOT_MENDED = "what its rule says of mending does not remove it on this card"
    ACCEPTED = "it is accepted: somebody answers for it, until the deviation ends"
    RESTS_ON_ACCEPTED = "its mend would change a setting that is accepted: somebody answers for it"
    NOT_ASKED = "it is not among the findings that were asked for"


@dataclass(frozen=True, slots=True)
class Refused:
    """A step that is left out, why, about what in particular, and what to do instead."""

    step: Step
    reason: Reason
    detail: str
    instead: str


@dataclass(frozen=True, slots=True)
class Remaining:
    """A finding that is still there after the visit, why, and what can be done about it."""

    finding: Finding
    reason: Reason
    instead: str
