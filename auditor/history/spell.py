"""One spell of a finding: from the sweep that first found it to the one that saw it mended, or to now."""

from datetime import datetime, timedelta

from auditor.dataclass import dataclass
from auditor.history.card_result import KeptFinding
from auditor.history.fate import Fate
from auditor.history.survival import Lifetime

_DAY = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class Spell:
    """A finding on a card, over the sweeps that found it one after the other.

    ``finding`` is as it was found last; ``title`` is its rule's. ``opened`` and ``last_found``
    are the first and the last sweep that found it. ``since_before`` is true where it was there
    when its rule first judged the card: it is older than is known. ``ended`` is the sweep that saw it
    mended or withdrawn, None while it is open or lost. ``earlier`` counts its spells that were
    mended before: it has returned so often. ``since`` is the first sweep that saw its fate be what
    it is.
    """

    card: str
    site: str
    finding: KeptFinding
    title: str
    opened: datetime
    last_found: datetime
    since_before: bool
    fate: Fate
    ended: datetime | None
    earlier: int
    since: datetime

    @property
    def is_open(self) -> bool:
        """Return whether nobody knows it to be mended, though its rule still judges."""
        return self.fate in (Fate.OPEN, Fate.LOST)

    def age_days(self, now: datetime) -> float:
        """Return the days from the sweep that first found it to its end, or to now if it is open."""
        return ((self.ended or now) - self.opened) / _DAY

    @property
    def lifetime(self) -> Lifetime:
        """Return how long it lived: to the sweep that saw it mended, else as far as it was found."""
        mended = self.fate is Fate.MENDED and self.ended is not None
        end = self.ended if mended and self.ended else self.last_found
        return Lifetime((end - self.opened) / _DAY, mended)
