"""Two states of records → those that differ; what is the same to the byte is never parsed.

Keeps a digest for each record, and in memory only those that differ. Only where a card is new are
the ids of the others read: the copy of a record under its old id is no new card.
"""

import hashlib
from collections import Counter
from collections.abc import Callable, Iterable
from typing import TypeAlias

import orjson

from auditor.dataclass import dataclass
from auditor.errors import Fault, RecordError
from auditor.intake.card_ids import CardIds
from auditor.intake.records import twice
from auditor.intake.source import RawRecord
from auditor.intake.work_tree import WorkTrees
from auditor.record.reading import Record, read_record

Opened: TypeAlias = Callable[[], Iterable[RawRecord | Fault]]
"""Opens one state: gives its raw records anew each time it is called."""


@dataclass(frozen=True, slots=True)
class Side:
    """The records of one state that differ from the other, and those that can't be used."""

    records: tuple[Record, ...]
    errors: tuple[RecordError, ...]


@dataclass(frozen=True, slots=True)
class Changed:
    """What differs between two states; ``unchanged`` records are the same to the byte in both."""

    before: Side
    after: Side
    unchanged: int


def changed_records(before: Opened, after: Opened) -> Changed:
    """Return the records that differ between two states, each state read once or twice.

    Of a record that stands several times, as many are unchanged as both states have. Where the
    files are named otherwise, or lines in another order, a record is still the same.
    """
    there = Counter(_digest(raw) for raw in before() if isinstance(raw, RawRecord))
    came: list[RawRecord | Fault] = []
    unchanged = 0
    for raw in after():
        digest = _digest(raw) if isinstance(raw, RawRecord) else b""
        if there[digest] > 0:
            there[digest] -= 1
            unchanged += 1
        else:
            came.append(raw)
    went = (
        [raw for raw in before() if isinstance(raw, Fault) or _take(there, _digest(raw))]
        if _left(there)
        else []
    )
    old, new = _side(went), _side(came)
    return Changed(old, _without_twins(new, old, after) if unchanged else new, unchanged)


def faults_of_nothing(opened: Opened) -> tuple[Fault, ...]:
    """Return why a state has no raw record at all; empty where it has one, which is read no further."""
    faults = []
    for raw in opened():
        if isinstance(raw, RawRecord):
            return ()
        faults.append(raw)
    return tuple(faults)


def _without_twins(side: Side, old: Side, opened: Opened) -> Side:
    """Return a side without new cards whose id an unchanged record has already: a copy with its old id."""
    known = {record.card_id for record in old.records}
    new = {record.card_id: record for record in side.records if record.card_id not in known}
    errors = []
    for raw in opened() if new else ():
        record = new.get(_id_in(raw.text)) if isinstance(raw, RawRecord) else None
        if record is not None and isinstance(raw, RawRecord) and not _stands_at(record, raw):
            errors.append(RecordError([twice(record, raw.file, raw.line)]))
            del new[record.card_id]
            side = Side(tuple(each for each in side.records if each is not record), side.errors)
    return Side(side.records, (*side.errors, *errors))


def _id_in(text: bytes) -> str:
    """Return the id of a card, read as fast as can be; empty where there is none."""
    try:
        found = orjson.loads(text)["card"]["id"]
    except (orjson.JSONDecodeError, LookupError, TypeError):
        return ""
    return found if isinstance(found, str) else ""


def _stands_at(record: Record, raw: RawRecord) -> bool:
    return (record.file, record.line) == (raw.file, raw.line)


def _digest(raw: RawRecord) -> bytes:
    return hashlib.sha256(raw.text).digest()


def _left(there: Counter[bytes]) -> bool:
    return any(count > 0 for count in there.values())


def _take(there: Counter[bytes], digest: bytes) -> bool:
    there[digest] -= 1
    return there[digest] >= 0


def _side(raws: Iterable[RawRecord | Fault]) -> Side:
    ids, trees = CardIds(), WorkTrees()
    records: list[Record] = []
    errors: list[RecordError] = []
    for raw in raws:
        if isinstance(raw, Fault):
            errors.append(RecordError([raw]))
            continue
        try:
            record = read_record(raw.text, raw.file, first_line=raw.line, in_work_tree=trees.hold(raw.file))
        except RecordError as error:
            errors.append(error)
            continue
        first = ids.add(record.card_id, record.file, record.line)
        if first is None:
            records.append(record)
        else:
            errors.append(RecordError([twice(record, *first)]))
    return Side(tuple(records), tuple(errors))
