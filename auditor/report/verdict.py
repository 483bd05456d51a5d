"""The verdict in words: what a reader must know first. Holds no format."""

from auditor.dataclass import dataclass
from auditor.fleet.estate import EstateSummary, GroupSum
from auditor.rules.result import Outcome
from auditor.scoring.band import Band


@dataclass(frozen=True, slots=True)
class Verdict:
    """One word (``Held``, ``Released`` or ``Nothing audited``) and the sentence that says why."""

    word: str
    reason: str

    def __str__(self) -> str:
        """Join the two on one line."""
        return f"{self.word}: {self.reason}"


def verdict(summary: EstateSummary) -> Verdict:
    """Return the verdict on an estate, or on one card."""
    if not summary.whole.cards:
        return Verdict("Nothing audited", _unusable(summary) or "no record was given.")
    word = "Held" if summary.held else "Released"
    return Verdict(word, " ".join(filter(None, (_findings(summary), _unusable(summary)))))


def unusable_counted(summary: EstateSummary) -> str:
    """Return how many records, and folders without any, could not be audited."""
    records, folders = summary.unusable - summary.empty_folders, summary.empty_folders
    parts = [counted(records, "record")] if records else []
    parts += [f"{counted(folders, 'folder')} without records"] if folders else []
    return " and ".join(parts) or counted(0, "record")


def counted(number: int, singular: str, plural: str = "") -> str:
    """Return a number with its noun, such as ``1 card`` or ``2 cards``."""
    return f"{number} {singular if number == 1 else plural or singular + 's'}"


def _findings(summary: EstateSummary) -> str:
    whole, line = summary.whole, _at(summary.hold_at)
    if not summary.held:
        aside = _accepted(summary)
        none = "no finding without a deviation" if aside else "no finding"
        return f"{none} {line} on {_all_of(whole.cards)}{_undecided(whole)}.{aside}"
    findings = sum(count for band, count in whole.open_by_band.items() if band >= summary.hold_at)
    cards = sum(count for band, count in whole.cards_by_open_worst.items() if band >= summary.hold_at)
    share = f"{cards} of {whole.cards} cards" if whole.cards > 1 else "the card"
    on_cards = f"{counted(findings, 'finding')} {line}, on {share}" if findings else ""
    shared = _shared(summary, line if not findings else "")
    told = [on_cards, shared, _deviating(summary, "" if on_cards or shared else line)]
    return f"{', and '.join(filter(None, told))}.{_accepted(summary)}"


def _shared(summary: EstateSummary, line: str) -> str:
    """Return how many shared secrets hold the estate, in words."""
    groups = sum(one.band >= summary.hold_at for one in summary.shared)
    return (
        f"{counted(groups, 'secret or key', 'secrets or keys')} shared by several cards {line}".rstrip()
        if groups
        else ""
    )


def _deviating(summary: EstateSummary, line: str) -> str:
    """Return how many faults of deviations hold the estate, in words."""
    found = summary.deviations.findings if summary.deviations else ()
    faulty = sum(each.band >= summary.hold_at for each in found)
    return f"{counted(faulty, 'fault')} of deviations {line}".rstrip() if faulty else ""


def _accepted(summary: EstateSummary) -> str:
    """Return how many findings would hold but for a deviation, in a sentence; empty for none."""
    covered = sum(count for band, count in summary.whole.accepted_by_band.items() if band >= summary.hold_at)
    return f" {counted(covered, 'finding')} {_at(summary.hold_at)} under a deviation." if covered else ""


def _at(band: Band) -> str:
    return f"at {band.value}" if band is Band.CRITICAL else f"at {band.value} or above"


def _all_of(cards: int) -> str:
    return f"any of {cards} cards" if cards > 1 else "the card"


def _undecided(whole: GroupSum) -> str:
    unknown = whole.outcomes[Outcome.UNKNOWN]
    return f", but {counted(unknown, 'result')} could not be decided" if unknown else ""


def _unusable(summary: EstateSummary) -> str:
    folders = summary.empty_folders
    records = summary.unusable - folders
    was = "was" if records == 1 else "were"
    hold = "holds" if folders == 1 else "hold"
    said = [f"{counted(records, 'record')} could not be used, and {was} not audited."] if records else []
    said += [f"{counted(folders, 'folder')} {hold} no records."] if folders else []
    return " ".join(said)
