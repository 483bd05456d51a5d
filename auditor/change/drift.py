"""Drift: what moved on a card since it was marked, and which moves change an outcome.

How and when a record was captured is no setting of the card: that is left out. Reads no file.
"""

import copy
from collections.abc import Iterator, Sequence
from enum import StrEnum

import orjson

from auditor.change.card_change import CardChange, Judged, changed
from auditor.change.compare import Move
from auditor.change.gate import Terms
from auditor.change.mark import Mark, Seal, sealed_settings
from auditor.change.reads import rests_on
from auditor.change.secret_names import secrets_by_name
from auditor.dataclass import dataclass, replace
from auditor.record.reading import Record, read_record
from auditor.record.settings import Settings
from auditor.rules.rule import Rule
from auditor.scoring.accepted import Acceptance
from auditor.scoring.assessment import assess
from auditor.scoring.deviation import Deviation

_NOT_OF_THE_CARD = ("capture", "unmapped", "site_notes")


class Standing(StrEnum):
    """How a card stands to its mark.

    ``as-marked``: nothing moved. ``moved``: something did, and no outcome changed. ``matters``: a
    move changes an outcome. ``no-mark``: nobody approved the card. ``mark-not-whole``: its mark is not
    what was approved, or that can't be proved with the key given.
    """

    AS_MARKED = "as-marked"
    MOVED = "moved"
    MATTERS = "matters"
    NO_MARK = "no-mark"
    MARK_NOT_WHOLE = "mark-not-whole"


@dataclass(frozen=True, slots=True)
class Moved:
    """A move, and the rules that rest on the setting and have another outcome now.

    ``accepted`` are the deviations that cover what these rules find since.
    """

    move: Move
    rules: tuple[str, ...]
    accepted: tuple[Deviation, ...] = ()


@dataclass(frozen=True, slots=True)
class CardDrift:
    """One card and its mark.

    ``moves`` stand in the order of the schema. ``outcomes`` are the rules whose outcome changed,
    sorted. ``not_comparable`` counts secrets of which can't be told whether they are still the
    same. ``record`` is that of today, and ``change`` the comparison in full; both are None where
    nothing was compared and there is nothing to tell.
    """

    card_id: str
    file: str
    standing: Standing
    record: Record | None = None
    mark: Mark | None = None
    moves: tuple[Moved, ...] = ()
    outcomes: tuple[str, ...] = ()
    not_comparable: int = 0
    change: CardChange | None = None


def drift_of(record: Record, mark: Mark | None, terms: Terms, key: bytes | None) -> CardDrift:
    """Return how a card stands to its mark, judged by the rules of today on both sides."""
    if mark is None:
        return CardDrift(record.card_id, record.file, Standing.NO_MARK, record)
    if mark.seal is Seal.WHOLE and mark.record_digest == f"sha256:{record.digest}":
        return CardDrift(record.card_id, record.file, Standing.AS_MARKED, mark=mark)
    before, after, not_comparable = _aligned(mark, record, terms, key)
    change = changed(_judged(before, terms), _accepted(_judged(after, terms), terms), terms.context)
    rules = {rule.id: rule for rule in _rules_of(change)}
    moves = tuple(_moved(move, rules, change, terms) for move in change.moves)
    return CardDrift(
        record.card_id,
        record.file,
        _standing(mark, change, rules),
        record,
        mark,
        moves,
        tuple(sorted(rules)),
        not_comparable,
        change,
    )


def _standing(mark: Mark, change: CardChange, rules: dict[str, Rule]) -> Standing:
    if mark.seal is not Seal.WHOLE:
        return Standing.MARK_NOT_WHOLE
    if rules or change.new_ways:
        return Standing.MATTERS
    return Standing.MOVED if change.moves else Standing.AS_MARKED


def _aligned(mark: Mark, record: Record, terms: Terms, key: bytes | None) -> tuple[Record, Record, int]:
    """Return both states in one form: sealed alike, without what is not of the card."""
    approved = copy.deepcopy(mark.record.settings)
    present = sealed_settings(record.settings, key, terms.context)
    for name in _NOT_OF_THE_CARD:
        approved.pop(name, None)
        if name in present:
            approved[name] = present[name]
    not_comparable = _without_idle_tags(approved, present)
    return _record(approved, mark.file), _record(present, record.file), not_comparable


def _record(settings: Settings, file: str) -> Record:
    return replace(read_record(orjson.dumps(settings), file), is_made=True)


def _without_idle_tags(approved: Settings, present: Settings) -> int:
    """Take away tags that can't be compared on both sides; return how many secrets that leaves open."""
    old, new = secrets_by_name(approved), secrets_by_name(present)
    count = 0
    for name in old.keys() & new.keys():
        sides = [secrets[name][1].get("sealed", {}) for secrets in (old, new)]
        if not all(sides) or _comparable(sides):
            continue
        count += 1
        for held in sides:
            held.pop("tag", None)
            held.pop("key", None)
    return count


def _comparable(sides: Sequence[Settings]) -> bool:
    tags = [(held.get("tag"), held.get("key")) for held in sides]
    return all(tag and key for tag, key in tags) and tags[0][1] == tags[1][1]


def _judged(record: Record, terms: Terms) -> Judged:
    return Judged(record, assess(record, terms.program, terms.context, compiled=terms.compiled))


def _accepted(judged: Judged, terms: Terms) -> Judged:
    """Mark what somebody answers for: it drifted all the same."""
    if terms.deviations is None:
        return judged
    acceptance = Acceptance(terms.deviations, terms.context.as_of, whole_estate=False)
    return replace(judged, assessment=acceptance.mark(judged.assessment))


def _rules_of(change: CardChange) -> Iterator[Rule]:
    """Yield every rule whose outcome is another one, or more or less severe, than it was."""
    yield from (finding.rule for finding in (*change.new, *change.mended))
    yield from (pair.after.rule for pair in (*change.worsened, *change.lessened))
    yield from (each.rule for each in (*change.lost, *change.gained))


def _moved(move: Move, rules: dict[str, Rule], change: CardChange, terms: Terms) -> Moved:
    facts = terms.program.facts
    names = sorted(name for name, rule in rules.items() if rests_on(rule, move.pointer, facts))
    found = (*change.new, *(pair.after for pair in change.worsened))
    covered = (each.deviation for each in found if each.deviation and each.rule.id in names)
    return Moved(move, tuple(names), tuple(dict.fromkeys(covered)))
