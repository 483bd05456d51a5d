"""Who can switch the load off over an estate, in words and rows for every report. Holds no format."""

from collections.abc import Iterator, Mapping
from typing import Final

from auditor.dataclass import dataclass
from auditor.facts.reach.way import Proof
from auditor.fleet.estate import EstateSummary
from auditor.fleet.reach_sums import ChangeSum, EasiestCard, From, ReachSummary
from auditor.report.reach_view import ASK_FIRST, LOCK_OUT
from auditor.report.verdict import counted
from auditor.report.way_words import PROOFS

TITLE = "Who can switch the load off"
CHANGES_TITLE = "Which one change closes the most ways"
CHANGES_NOTE = (
    "The same change of one setting on each of these cards; * stands for one member of the list. "
    "It closes ways that are known to switch; those then unsure may switch still. "
    f"{ASK_FIRST} {LOCK_OUT}"
)
MOST_CHANGES = 6

PLACES: Final[Mapping[From, str]] = {
    From.ANYWHERE: "any address",
    From.LISTED: "listed addresses",
    From.NOT_KNOWN: "addresses not known",
    From.OUTBOUND: "the card's own call",
    From.RADIO: "radio range",
    From.PRESENCE: "at the card",
}
_AFAR: Final = tuple(place for place in From if place is not From.PRESENCE)
_OPEN_TO_ALL: Final = (Proof.NONE, Proof.WELL_KNOWN, Proof.FACTORY)

_EASILY: Final = "without a proof or with a secret that anybody can look up"
UNSURE = "none is sure, but some may"
CLOSED = "none switches at once"


@dataclass(frozen=True, slots=True)
class ProofRow:
    """How many cards have an easiest way with one proof: place by place, and in all."""

    proof: Proof
    words: str
    counts: tuple[int, ...]
    cards: int


@dataclass(frozen=True, slots=True)
class EstateReach:
    """The sums of an estate as reports show them; ``places`` are the columns of ``rows``."""

    sums: ReachSummary

    @property
    def places(self) -> tuple[From, ...]:
        """Return from where easiest ways are open on some card."""
        return tuple(place for place in From if self.sums.number(Proof, (place,)))

    @property
    def rows(self) -> tuple[ProofRow, ...]:
        """Return the proofs that easiest ways ask for, the most worrying first."""
        return tuple(self._rows())

    def _rows(self) -> Iterator[ProofRow]:
        for proof, words in PROOFS.items():
            counts = tuple(self.sums.number((proof,), (place,)) for place in self.places)
            if sum(counts):
                yield ProofRow(proof, words, counts, sum(counts))

    @property
    def rest(self) -> tuple[tuple[str, int], ...]:
        """Return the cards without a way that is sure, in words with their number."""
        rest = (UNSURE, self.sums.unsure), (CLOSED, self.sums.closed)
        return tuple((words, cards) for words, cards in rest if cards)

    @property
    def changes(self) -> tuple[ChangeSum, ...]:
        """Return the changes that close the most ways, at most ``MOST_CHANGES``."""
        return self.sums.changes[:MOST_CHANGES]

    @property
    def sentence(self) -> str:
        """Return the most important in a sentence or two."""
        sums = self.sums
        easily = sums.number(_OPEN_TO_ALL, _AFAR)
        cards = counted(sums.cards, "card")
        on = f"On {easily} of {cards}, outputs can" if easily else f"On none of {cards} can outputs"
        said = f"{on} be switched from afar {_EASILY}."
        if not sums.unsure:
            return said
        return f"{said} On {counted(sums.unsure, 'card')} no way is sure, but some may switch."

    def easiest(self, most: int) -> tuple[EasiestCard, ...]:
        """Return the cards with the easiest ways, at most so many."""
        return self.sums.easiest[:most]

    def not_shown(self, most: int) -> int:
        """Return how many cards have a way that surely switches, and are not among so many."""
        return self.sums.open - len(self.easiest(most))


def estate_reach(summary: EstateSummary) -> EstateReach | None:
    """Return the sums of an estate of several cards; None where no report is to show them."""
    if summary.reach is None or summary.whole.cards < 2:  # noqa: PLR2004 - one card shows its ways
        return None
    return EstateReach(summary.reach)


def unsure_words(change: ChangeSum) -> str:
    """Return how many ways are then no longer known to switch, but may."""
    return str(change.unsure or "none")


def without_words(change: ChangeSum) -> str:
    """Return on how many cards no sure way would be left."""
    return str(change.cards_without or "none")
