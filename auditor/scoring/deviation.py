"""A departure from a rule that somebody answers for: what it covers, and until when. Reads no file."""

from datetime import date
from enum import StrEnum
from fnmatch import fnmatchcase

from auditor.dataclass import dataclass
from auditor.rules.result import Outcome


class Defect(StrEnum):
    """Why a deviation covers nothing on a day."""

    EXPIRED = "expired"
    NOT_YET = "not-yet-approved"
    WITHOUT_OWNER = "without-owner"
    TOO_LONG = "too-long"


@dataclass(frozen=True, slots=True)
class Deviation:
    """One deviation, as its file says it.

    ``cards`` are patterns of card ids (``*`` and ``?``). ``member`` is the pointer or the label
    of the list member that it is about, or a pattern of labels; empty for every member.
    ``owner`` and ``ticket`` may be empty. ``expires`` is the last day on which it holds.
    ``days_too_many`` are those by which it lasts longer than the site allows.
    """

    rule: str
    cards: tuple[str, ...]
    member: str
    owner: str
    reason: str
    approved: date
    expires: date
    ticket: str
    file: str
    line: int
    days_too_many: int = 0

    @property
    def days(self) -> int:
        """Return how many days it lasts, from its approval."""
        return (self.expires - self.approved).days

    def is_about_card(self, card_id: str) -> bool:
        """Tell whether a card is meant."""
        return any(fnmatchcase(card_id, pattern) for pattern in self.cards)

    def is_about(self, rule: str, pointer: str, label: str) -> bool:
        """Tell whether a result of a card that is meant is meant too: its rule, and its member."""
        if rule != self.rule:
            return False
        return self.member in {"", pointer, label} or (bool(label) and fnmatchcase(label, self.member))

    def defects(self, day: date) -> tuple[Defect, ...]:
        """Return why it covers nothing on a day; empty where it is in force."""
        said = (
            (not self.owner, Defect.WITHOUT_OWNER),
            (day < self.approved, Defect.NOT_YET),
            (day > self.expires, Defect.EXPIRED),
            (self.days_too_many > 0, Defect.TOO_LONG),
        )
        return tuple(defect for holds, defect in said if holds)


@dataclass(frozen=True, slots=True)
class DeviationSet:
    """The deviations of one file, in its order. ``digest`` is its SHA-256, hexadecimal."""

    file: str
    digest: str
    deviations: tuple[Deviation, ...]


def can_be_accepted(outcome: Outcome) -> bool:
    """Tell whether somebody may answer for an outcome: an ``error`` is a fault of ours, no risk accepted."""
    return outcome in (Outcome.FAIL, Outcome.UNKNOWN)
