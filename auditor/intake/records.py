"""Paths → validated records, reading on after a bad one, and no card id twice."""

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from itertools import chain
from typing import BinaryIO, TypeAlias

from auditor.errors import Fault, RecordError
from auditor.intake.card_ids import CardIds
from auditor.intake.source import STDIN_NAME, open_sources
from auditor.intake.work_tree import WorkTrees
from auditor.record.limits import DEFAULT, Limits
from auditor.record.reading import Record, read_again, read_record

CARD_ID = "/card/id"

Knowing: TypeAlias = Callable[[bytes, bool | None], bool]
"""Tells whether a text, which lies in a work tree or not, was accepted as a record before."""


def nothing_known(_text: bytes, _in_work_tree: bool | None) -> bool:  # noqa: FBT001 - the shape of Knowing
    """Know no text: every record is checked."""
    return False


def read_records(
    paths: Sequence[str], stdin: BinaryIO, limits: Limits = DEFAULT, *,
    card_ids: CardIds | None = None, is_known: Knowing = nothing_known,
) -> Iterator[Record | RecordError]:  # fmt: skip
    """Yield each record that the paths lead to, in order, or the error of one that can't be used.

    Of two records with the same card id, the first is yielded as a record, the second as an
    error that names both. ``card_ids`` are those met elsewhere, and get those met here. A text
    that ``is_known`` from an earlier run is not checked again.
    """
    card_ids = CardIds() if card_ids is None else card_ids
    trees = WorkTrees()
    read_new = partial(read_record, limits=limits)
    for raw in open_sources(paths, stdin, limits):
        if isinstance(raw, Fault):
            yield RecordError([raw])
            continue
        try:
            lies_in_tree = None if raw.file == STDIN_NAME else trees.hold(raw.file)
            read = read_again if is_known(raw.text, lies_in_tree) else read_new
            record = read(raw.text, raw.file, first_line=raw.line, in_work_tree=lies_in_tree)
        except RecordError as error:
            yield error
            continue
        first = card_ids.add(record.card_id, record.file, record.line)
        yield record if first is None else RecordError([twice(record, *first)])


def until_usable(
    records: Iterator[Record | RecordError],
) -> tuple[bool, Iterator[Record | RecordError]]:
    """Read on to the first record that can be used; return whether there is one, and all of them."""
    begun: list[Record | RecordError] = []
    for record in records:
        begun.append(record)
        if isinstance(record, Record):
            return True, chain(begun, records)
    return False, iter(begun)


def twice(record: Record, file: str, line: int) -> Fault:
    """Word that a card has a record already, in that file and on that line."""
    from auditor.record.position import positions  # slow import, needed for faults only

    place = positions(record.text.reveal(), [CARD_ID])[CARD_ID]
    problem = f"card id {record.card_id} is also the id of the record in {file}, line {line}"
    remedy = "Give each card its own id, or keep only one of the two records."
    return Fault(record.file, CARD_ID, record.line - 1 + place.line, place.column, problem, remedy)
