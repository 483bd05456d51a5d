"""The gate: whether a change of settings may pass. Release, or hold, with every reason for it.

Only cards that changed come here. Reads no file and prints nothing.
"""

from collections.abc import Iterable, Iterator, Sequence
from enum import StrEnum
from typing import Final

from auditor.change.card_change import CardChange, Judged, State, added, changed, removed
from auditor.dataclass import dataclass, replace
from auditor.errors import Fault
from auditor.facts.fact import Context
from auditor.facts.reach.way import Truth3, Way
from auditor.record.reading import Record
from auditor.rules.program import FEW_RECORDS, Program
from auditor.scoring.accepted import Acceptance
from auditor.scoring.assessment import Finding, assess
from auditor.scoring.band import Band
from auditor.scoring.deviation import Deviation, DeviationSet
from auditor.scoring.deviation_finding import DeviationReview
from auditor.scoring.locating import locate

CLEAR_RULE = "clear-secrets-in-work-tree"
"""Where a site sets this rule aside, it keeps clear secrets on purpose: then new ones do not hold."""


class Cause(StrEnum):
    """Why a change is held."""

    RECORD_UNUSABLE = "record-unusable"
    NEW_FINDING = "new-finding"
    WORSENED_FINDING = "worsened-finding"
    EVIDENCE_LOST = "evidence-lost"
    WAY_TO_SWITCH_OFF = "way-to-switch-off"
    CLEAR_SECRET = "clear-secret"  # noqa: S105 - a word, not a password
    CARD_REMOVED = "card-removed"
    CARD_RENAMED = "card-renamed"
    DEVIATION = "deviation"


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason to hold: its cause, the card, what is wrong in words, and where.

    ``finding`` is the one that holds, where it is one, and ``was`` what it was before. ``faults``
    are those of a record that can't be used: of which card it is, nobody knows.
    ``deviation`` is the one that does not cover any more.
    """

    cause: Cause
    card_id: str
    text: str
    pointer: str = ""
    finding: Finding | None = None
    was: Finding | None = None
    faults: tuple[Fault, ...] = ()
    deviation: Deviation | None = None


@dataclass(frozen=True, slots=True)
class Unusable:
    """Changed records that can't be used, on each side: the faults of each, in the order of its file.

    What can't be read after the change holds it; what could not be read before is only told.
    """

    before: tuple[tuple[Fault, ...], ...] = ()
    after: tuple[tuple[Fault, ...], ...] = ()


_ALL_USABLE: Final = Unusable()


@dataclass(frozen=True, slots=True)
class Decision:
    """What the gate says: ``held`` exactly if there is a reason.

    ``cards`` are those that changed, by id. ``unchanged`` counts the records that are the same
    to the byte before and after: they were not looked at.
    """

    hold_at: Band
    reasons: tuple[Reason, ...]
    cards: tuple[CardChange, ...]
    unchanged: int
    review: DeviationReview | None
    unusable: Unusable = _ALL_USABLE

    @property
    def held(self) -> bool:
        """Return whether the change is held."""
        return bool(self.reasons)


@dataclass(frozen=True, slots=True)
class Terms:
    """By what a gate decides: rules, moment, band, deviations.

    ``located`` tells that places are looked up, ``compiled`` that many records are to be judged.
    """

    program: Program
    context: Context
    hold_at: Band
    deviations: DeviationSet | None = None
    located: bool = False
    compiled: bool = False


def decide(
    before: Iterable[Record], after: Iterable[Record], terms: Terms, *,
    unchanged: int = 0, unusable: Unusable = _ALL_USABLE,
) -> Decision:  # fmt: skip
    """Decide on a change from records before to records after, each card id once on each side.

    Records of equal settings are taken as unchanged, however they are written.
    """
    olds, news = ({record.card_id: record for record in side} for side in (before, after))
    same = {name for name, record in news.items() if name in olds and _is_same(olds[name], record)}
    terms = replace(terms, compiled=len(olds) + len(news) - 2 * len(same) >= FEW_RECORDS)
    acceptance = _acceptance(terms)
    pairs, gone = _paired(*([r for name, r in side.items() if name not in same] for side in (olds, news)))
    changes = [_change(old, new, terms, acceptance) for old, new in pairs]
    cards = sorted([*changes, *(removed(_judged(old, terms, None)) for old in gone)], key=_card_id)
    review = acceptance.review() if acceptance else None
    reasons = [
        *_unusable_reasons(unusable),
        *(reason for card in cards for reason in card_reasons(card, terms, all_read=not unusable.after)),
        *_deviation_reasons(review, terms.hold_at),
    ]
    return Decision(terms.hold_at, tuple(reasons), tuple(cards), unchanged + len(same), review, unusable)


def _unusable_reasons(unusable: Unusable) -> Iterator[Reason]:
    for faults in unusable.after:
        first = faults[0]
        yield Reason(Cause.RECORD_UNUSABLE, "", first.problem, first.pointer, faults=faults)


def _is_same(old: Record, new: Record) -> bool:
    return old.settings == new.settings


def _acceptance(terms: Terms) -> Acceptance | None:
    given = terms.deviations
    return Acceptance(given, terms.context.as_of, whole_estate=False) if given else None


def _card_id(card: CardChange) -> str:
    return card.card_id


def _paired(
    olds: Sequence[Record], news: Sequence[Record]
) -> tuple[list[tuple[Record | None, Record]], list[Record]]:
    """Return what belongs together, by id, else by serial number or hardware address, and what is gone."""
    left = {record.card_id: record for record in olds}
    pairs: list[tuple[Record | None, Record]] = [(left.pop(new.card_id, None), new) for new in news]
    for place, (old, new) in enumerate(pairs):
        twin = None if old is not None else _twin(new, left.values())
        if twin is not None:
            pairs[place] = (left.pop(twin.card_id), new)
    return pairs, list(left.values())


def _twin(new: Record, olds: Iterable[Record]) -> Record | None:
    marks = _marks(new)
    return next((old for old in olds if marks & _marks(old)), None)


def _marks(record: Record) -> set[tuple[str, str]]:
    card = record.settings["card"]
    return {(name, card[name].lower()) for name in ("serial_number", "mac_address") if name in card}


def _change(old: Record | None, new: Record, terms: Terms, acceptance: Acceptance | None) -> CardChange:
    after = _judged(new, terms, acceptance)
    if old is None:
        return added(after)
    # What is judged is the settings, not where each of the two happens to lie.
    there = replace(old, in_work_tree=new.in_work_tree)
    return changed(_judged(there, terms, None), after, terms.context)


def _judged(record: Record, terms: Terms, acceptance: Acceptance | None) -> Judged:
    assessment = assess(record, terms.program, terms.context, compiled=terms.compiled)
    marked = acceptance.mark(assessment) if acceptance else assessment
    return Judged(record, locate(record, marked) if terms.located else marked)


def card_reasons(card: CardChange, terms: Terms, *, all_read: bool = True) -> Iterator[Reason]:
    """Yield every reason of one card to hold the change, worst first.

    ``all_read`` is false where a record can't be used: a card that is missed may be in that one.
    """
    if card.state is State.REMOVED:
        text = "the card is gone" if all_read else "the card is gone, or in a record that can't be used"
        yield Reason(Cause.CARD_REMOVED, card.card_id, text)
    if card.state is State.RENAMED and card.before is not None:
        text = f"the card was {card.before.record.card_id}: its history goes by the id"
        yield Reason(Cause.CARD_RENAMED, card.card_id, text, "/card/id")
    yield from _finding_reasons(card, terms.hold_at)
    yield from _way_reasons(card)
    if CLEAR_RULE not in terms.program.tailoring.deselected:
        for pointer in card.clear:
            yield Reason(Cause.CLEAR_SECRET, card.card_id, "a secret stands in clear: seal it", pointer)
    yield from _evidence_reasons(card)


def _way_reasons(card: CardChange) -> Iterator[Reason]:
    """Yield a reason for each setting that opens ways to switch the load off."""
    opened: dict[str, list[Way]] = {}
    for way in card.new_ways:
        opened.setdefault(way.pointer, []).append(way)
    for pointer, found in opened.items():
        more = f"; and {len(found) - 1} more by the same setting" if len(found) > 1 else ""
        yield Reason(Cause.WAY_TO_SWITCH_OFF, card.card_id, f"{way_text(found[0])}{more}", pointer)


def _evidence_reasons(card: CardChange) -> Iterator[Reason]:
    """Yield a reason for each setting that results wait for which could be decided before."""
    waiting: dict[str, list[str]] = {}
    for lost in card.lost:
        waiting.setdefault(lost.pointer, []).append(lost.rule.id)
    for pointer, rules in waiting.items():
        names = list(dict.fromkeys(rules))
        more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
        text = f"could be decided before, and can't be any more: {', '.join(names[:_NAMED])}{more}"
        yield Reason(Cause.EVIDENCE_LOST, card.card_id, text, pointer)


_NAMED = 4
"""So many rules are named that wait for one setting; our own figure."""


def _finding_reasons(card: CardChange, hold_at: Band) -> Iterator[Reason]:
    for finding in card.new:
        if _holds(finding, hold_at):
            yield Reason(Cause.NEW_FINDING, card.card_id, finding.rule.title, finding.pointer, finding)
    for pair in card.worsened:
        if _holds(pair.after, hold_at):
            after, before = pair.after, pair.before
            yield Reason(Cause.WORSENED_FINDING, card.card_id, after.rule.title, after.pointer, after, before)


def _holds(finding: Finding, hold_at: Band) -> bool:
    return finding.deviation is None and finding.band >= hold_at and finding.band is not Band.NONE


def _deviation_reasons(review: DeviationReview | None, hold_at: Band) -> Iterator[Reason]:
    """Yield deviations that no longer cover what they are about, on a card that changed."""
    for found in review.findings if review else ():
        if found.findings and found.beside is None and found.band >= hold_at:
            deviation = found.deviation
            text = f"{found.what.title}: rule {deviation.rule}, {deviation.file}:{deviation.line}"
            yield Reason(Cause.DEVIATION, found.example_card, text, deviation=deviation)


def way_text(way: Way) -> str:
    """Return in words by what way the load can be switched off."""
    sure = "" if way.is_open and way.switches else ", as far as is known"
    proof = way.proof.value.replace("_", " ")
    condition = f", {way.condition}" if way.condition else ""
    channel = way.channel.value.replace("_", " ")
    return f"{channel} as {way.party}, proof: {proof}{_clear(way.in_clear)}{condition}{sure}"


def _clear(in_clear: Truth3) -> str:
    return ", in clear" if in_clear else ""
