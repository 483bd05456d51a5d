"""Drift in words and rows for every format: what moved since the marks, and what of it matters."""

from collections.abc import Iterator, Sequence

from auditor.change.drift import CardDrift, Moved, Standing
from auditor.change.gate import way_text
from auditor.change.mark import Seal
from auditor.dataclass import dataclass
from auditor.errors import Fault
from auditor.report.deviation_view import accepted_text
from auditor.report.figures import faults_line, severity_text
from auditor.report.finding_text import finding_line
from auditor.report.gate_view import better_lines, move_line
from auditor.report.verdict import counted
from auditor.scoring.assessment import Finding

WORDS = {
    Standing.AS_MARKED: "as marked",
    Standing.MOVED: "moved",
    Standing.MATTERS: "moved, matters",
    Standing.NO_MARK: "no mark",
    Standing.MARK_NOT_WHOLE: "mark not whole",
}

NOT_WHOLE = {
    Seal.ALTERED: "the mark is not what was approved: it was altered. Take it from version control again, "
    "or have the card approved anew.",
    Seal.UNTAGGED: "the mark has no keyed tag, so nobody can prove it: mark the card anew with --key.",
    Seal.OTHER_KEY: "the mark was tagged with another key: give that one, or mark the card anew.",
}

UNREAD = "Can't be used, and not compared"
"""Heading of the records and marks that can't be used."""

WEIGHTY = (Standing.MATTERS, Standing.NO_MARK, Standing.MARK_NOT_WHOLE)
"""Standings that ask for somebody: a run with one of them ends with exit code 1."""


@dataclass(frozen=True, slots=True)
class Drift:
    """What a run found: every card, marks that no card was held against, and what can't be used.

    ``faults`` are those of records and marks that can't be used, for each in the order of its file.
    """

    cards: tuple[CardDrift, ...]
    unheld: tuple[str, ...]
    faults: tuple[tuple[Fault, ...], ...] = ()

    @property
    def is_weighty(self) -> bool:
        """Return whether a card asks for somebody."""
        return any(card.standing in WEIGHTY for card in self.cards)

    @property
    def told(self) -> tuple[CardDrift, ...]:
        """Return the cards that there is something to say of, the weightiest first, then by id."""
        order = list(reversed(Standing))
        said = [card for card in self.cards if card.standing is not Standing.AS_MARKED or card.not_comparable]
        return tuple(sorted(said, key=lambda card: (order.index(card.standing), card.card_id)))


def word_of(drift: Drift) -> str:
    """Return the finding of a run in a word or two; ``steady`` only where everything was compared."""
    if drift.is_weighty:
        return "drift"
    return "not all compared" if drift.faults or not drift.cards else "steady"


def fault_lines(drift: Drift) -> Iterator[str]:
    """Yield what can't be used, and so was not compared."""
    yield from map(faults_line, drift.faults)


def sentence_of(drift: Drift) -> str:
    """Return what a run found, in a sentence."""
    counts = {each: sum(card.standing is each for card in drift.cards) for each in Standing}
    moved = counts[Standing.MATTERS] + counts[Standing.MOVED]
    parts = [
        f"{moved} of {counted(len(drift.cards), 'card')} moved",
        f"{counts[Standing.MATTERS]} in a way that changes an outcome",
        f"{counts[Standing.NO_MARK]} without a mark" if counts[Standing.NO_MARK] else "",
        f"{counted(counts[Standing.MARK_NOT_WHOLE], 'mark')} not whole"
        if counts[Standing.MARK_NOT_WHOLE]
        else "",
        f"{counted(len(drift.faults), 'record or mark', 'records or marks')} can't be used"
        if drift.faults
        else "",
    ]
    return f"{', '.join(filter(None, parts))}."


def marked_text(card: CardDrift) -> str:
    """Return who marked a card when; empty without a mark."""
    return f"marked {card.mark.at[:10]} by {card.mark.by}" if card.mark is not None else ""


def moved_line(moved: Moved) -> str:
    """Return a move, the rules whose outcome changed with it, and who answers for that."""
    said = "; ".join([", ".join(moved.rules), *accepted_lines(moved)])
    return move_line(moved.move) + (f" (matters: {said})" if moved.rules else "")


def accepted_lines(moved: Moved) -> list[str]:
    """Return who answers for what a move brought about; none where nobody does."""
    return [accepted_text(deviation) for deviation in moved.accepted]


def notes_of(card: CardDrift) -> Iterator[str]:
    """Yield what is to be said of a card besides its moves."""
    if card.mark is not None and card.mark.seal in NOT_WHOLE:
        yield NOT_WHOLE[card.mark.seal]
    if card.standing is Standing.NO_MARK:
        yield "nobody approved this card: witnessmark mark RECORD --by NAME."
    if card.not_comparable:
        secrets = counted(card.not_comparable, "secret")
        yield f"{secrets} can't be compared with what was marked: mark and compare with the same --key."


def worse_lines(card: CardDrift) -> Sequence[str]:
    """Return what got worse on a card since its mark."""
    change = card.change
    if change is None:
        return ()
    found = [f"new: {_said(finding)}" for finding in change.new]
    found += [f"worse: {_said(pair.after)}" for pair in change.worsened]
    found += [f"can't be decided any more: {lost.rule.id} ({lost.pointer})" for lost in change.lost]
    return [*found, *(f"way to switch the load off: {way_text(way)}" for way in change.new_ways)]


def _said(finding: Finding) -> str:
    accepted = f" ({accepted_text(finding.deviation)})" if finding.deviation is not None else ""
    return f"{severity_text(finding)} {finding_line(finding)}{accepted}"


def improved_lines(card: CardDrift) -> Sequence[str]:
    """Return what got better on a card since its mark: it moved all the same."""
    return list(better_lines(card.change)) if card.change is not None else ()
