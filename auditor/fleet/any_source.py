"""Paths of any kind → validated records: our own as they are, others imported on the way."""

from collections.abc import Iterator, Sequence
from typing import BinaryIO

from auditor.errors import Fault, InputError, RecordError
from auditor.fleet.importing import ImportChoices, ImportedRecord, import_records
from auditor.intake.card_ids import CardIds
from auditor.intake.recognise import SourceFormat, recognise
from auditor.intake.records import Knowing, nothing_known, read_records
from auditor.intake.source import STANDARD_INPUT
from auditor.record.reading import Record


def read_any(
    paths: Sequence[str], stdin: BinaryIO, choices: ImportChoices, *, is_known: Knowing = nothing_known
) -> Iterator[Record | RecordError]:
    """Yield the record of each card: first those that are records, then those that are imported.

    With a format or a map chosen, every path is imported. Two records of one card are an error
    that names both; several sources of one card that are imported are merged. ``is_known`` as in
    ``read_records``.
    """
    forced = choices.form is not None or choices.chosen is not None
    others = [path for path in paths if forced or not _holds_records(path)]
    card_ids = CardIds()
    yield from read_records(
        [path for path in paths if path not in others], stdin, card_ids=card_ids, is_known=is_known
    )
    if others:
        for outcome in import_records(others, choices):
            if isinstance(outcome, InputError):
                yield RecordError(outcome.faults)
            else:
                yield _known_once(outcome, card_ids)


def _holds_records(path: str) -> bool:
    return path == STANDARD_INPUT or recognise(path) is SourceFormat.RECORDS


def _known_once(outcome: ImportedRecord, card_ids: CardIds) -> Record | RecordError:
    record = outcome.record
    first = card_ids.add(record.card_id, record.file, record.line)
    if first is None:
        return record
    problem = f"card id {record.card_id} is also the id of the record in {first[0]}, line {first[1]}"
    remedy = "Audit either the record or the source that it came from."
    return RecordError([Fault(record.file, "/card/id", 0, 0, problem, remedy)])
