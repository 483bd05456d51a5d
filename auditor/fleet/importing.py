"""Sources of settings → one validated record a card, with what was lost and what contradicts.

Puts the readers of ``intake`` to work: chooses the one that fits, merges what several sources say
of one card, and holds the result against the schema, naming the source of each fault.
"""

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeAlias

import orjson

from auditor.dataclass import dataclass, replace
from auditor.errors import Fault, InputError, RecordError
from auditor.intake.folder import is_folder, unreadable
from auditor.intake.imported import Imported
from auditor.intake.merge import Merged, merge_by_card
from auditor.intake.recognise import SourceFormat, recognise
from auditor.intake.work_tree import WorkTrees
from auditor.record.limits import DEFAULT
from auditor.record.reading import Record, raw_settings, read_record
from auditor.record.schema import SCHEMA_NAME

if TYPE_CHECKING:
    from auditor.intake.mapping.language import Map
    from auditor.record.settings import Settings

_LONGEST_NAME = 512
_MOST_NAMES = DEFAULT.items


@dataclass(frozen=True, slots=True)
class ImportChoices:
    """What a user chose for an import.

    ``form`` is the format of every source, or None to recognise each. ``chosen`` is the map to
    apply, if any. ``card_id`` is given to what comes from one source without an id of its own;
    ``taken_at`` (RFC 3339) is the moment of capture where a source tells none.
    """

    form: SourceFormat | None = None
    chosen: "Map | None" = None
    card_id: str = ""
    taken_at: str = ""


@dataclass(frozen=True, slots=True)
class ImportedRecord:
    """One card's record as imported, with what its sources say of their own quality."""

    record: Record
    merged: Merged


Outcome: TypeAlias = ImportedRecord | InputError


def import_records(paths: Sequence[str], choices: ImportChoices) -> Iterator[Outcome]:
    """Yield one record a card, in the order in which the cards first come, then the errors.

    A source that can't be used costs only itself; a card whose merged settings do not fit the
    schema gives a ``RecordError`` whose faults name the sources.
    """
    imports: list[Imported] = []
    errors: list[InputError] = []
    for path in paths:
        found, refused = _from_path(path, choices)
        imports += found
        errors += refused
    for merged in merge_by_card(imports):
        yield _validated(merged, [one for one in imports if one.card_id == merged.card_id])
    yield from errors


def _from_path(path: str, choices: ImportChoices) -> tuple[list[Imported], list[InputError]]:
    """Return what a path leads to, and the errors of what can't be used."""
    read: list[Imported] = []
    errors: list[InputError] = []
    for source in _sources_of(path, choices):
        try:
            read += _read(source, choices)
        except InputError as error:
            errors.append(error)
    if not read and not errors:
        return [], [InputError([_without_cards(path)])]
    digests = {file: _digest_of(file) for file in {one.file for one in read}}
    found = [_dated(one, choices.taken_at, digests[one.file]) for one in read]
    if choices.card_id and len(found) == 1:
        return [replace(found[0], card_id=choices.card_id)], errors
    return found, errors


def _sources_of(path: str, choices: ImportChoices) -> Iterator[str]:
    """Yield a path; of a folder that is no source itself, what lies below, so that each costs only itself."""
    if choices.chosen is None and is_folder(path) and _form_of(path, choices) is SourceFormat.RECORDS:
        for child in _sources_in(path):
            yield from _sources_of(child, choices)
    else:
        yield path


def _form_of(path: str, choices: ImportChoices) -> SourceFormat:
    return choices.form or recognise(path)


def _without_cards(path: str) -> Fault:
    problem = "nothing to import below this folder" if is_folder(path) else "holds no card"
    remedy = "Give exports, captures, filled-in sheets or worksheets, or a folder that holds them."
    return Fault(path, "", 0, 0, problem, remedy)


def _read(path: str, choices: ImportChoices) -> tuple[Imported, ...]:
    if choices.chosen is not None:
        from auditor.intake.mapping.applying import apply_map  # only a map needs it

        return apply_map(choices.chosen, bytes_of(path), path)
    form = _form_of(path, choices)
    if form is SourceFormat.REDFISH:
        from auditor.intake.redfish import read_redfish  # only such a source needs it

        return read_redfish(path)
    return _READERS[form](bytes_of(path), path)


_ENDINGS = (".json", ".xml", ".csv", ".zip", ".tar.gz")
"""Files of a folder that are taken for sources; the others lie there for people."""


def _sources_in(path: str) -> list[str]:
    children = (child for child in Path(path).iterdir() if not child.name.startswith("."))
    return sorted(str(child) for child in children if child.is_dir() or child.name.endswith(_ENDINGS))


def _read_record_file(text: bytes, file: str) -> tuple[Imported, ...]:
    """Take a record as a source: it can be completed by others."""
    record = read_record(text, file)
    settings = raw_settings(record)
    method = settings.get("capture", {}).get("method", "by_hand")
    return (Imported(record.card_id, settings, file, method, {}),)


def _read_netconf(text: bytes, file: str) -> tuple[Imported, ...]:
    from auditor.intake.netconf import read_netconf  # only such a source needs it

    return read_netconf(text, file)


def _read_sheet(text: bytes, file: str) -> tuple[Imported, ...]:
    from auditor.intake.sheet import read_sheet  # only such a source needs it

    return read_sheet(text, file)


def _read_worksheet(text: bytes, file: str) -> tuple[Imported, ...]:
    from auditor.intake.worksheet_answers import read_worksheet_answers  # only such a source needs it

    return read_worksheet_answers(text, file)


_READERS = {
    SourceFormat.RECORDS: _read_record_file,
    SourceFormat.NETCONF: _read_netconf,
    SourceFormat.SHEET: _read_sheet,
    SourceFormat.WORKSHEET: _read_worksheet,
}


def bytes_of(path: str) -> bytes:
    """Return the bytes of a source.

    Raises:
        InputError: if it can't be read, or is larger than a record may be.
    """
    try:
        with Path(path).open("rb") as stream:
            text = stream.read(DEFAULT.record_bytes + 1)
    except (OSError, ValueError) as error:
        raise InputError([unreadable(path, error)]) from error
    if len(text) > DEFAULT.record_bytes:
        problem = f"larger than {DEFAULT.record_bytes // 2**20} MiB"
        raise InputError([Fault(path, "", 0, 0, problem, "Export the settings of one card at a time.")])
    return text


def _dated(imported: Imported, taken_at: str, digest: str) -> Imported:
    """Return the import with its way and moment of capture and the digest of its source."""
    capture = dict(imported.settings.get("capture", {}))
    capture.setdefault("method", imported.method)
    if taken_at:
        capture.setdefault("taken_at", taken_at)
    if digest:
        capture.setdefault("source_digest", digest)
    return replace(imported, settings={**imported.settings, "capture": capture})


def _digest_of(file: str) -> str:
    """Return the digest of a source file as records hold it; empty for a folder of sources."""
    if not Path(file).is_file():
        return ""
    with Path(file).open("rb") as stream:
        return f"sha256:{hashlib.file_digest(stream, 'sha256').hexdigest()}"


def _validated(merged: Merged, sources: Sequence[Imported]) -> Outcome:
    text = orjson.dumps(_document(merged), option=orjson.OPT_INDENT_2) + b"\n"
    try:
        record = read_record(text, merged.sources[0], in_work_tree=_lies_in_tree(merged))
        return ImportedRecord(replace(record, is_made=True), merged)
    except RecordError as error:
        return RecordError([_at_its_origin(fault, sources) for fault in error.faults])


def _lies_in_tree(merged: Merged) -> bool | None:
    """Tell whether one of the sources lies in a work tree of version control."""
    trees = WorkTrees()
    found = {trees.hold(source) for source in merged.sources}
    return next((known for known in (True, None) if known in found), False)


def _document(merged: Merged) -> dict[str, Any]:
    """Return a record in the order of the schema: which card first, how captured next."""
    settings: Settings = dict(merged.settings)
    settings.pop("schema", None)
    card = {"id": merged.card_id, **{k: v for k, v in settings.pop("card", {}).items() if k != "id"}}
    names = [name[:_LONGEST_NAME] for name in merged.unmapped if name][:_MOST_NAMES]
    known = [*settings.pop("unmapped", ()), *names]
    return {"schema": SCHEMA_NAME, "card": card, **settings, "unmapped": list(dict.fromkeys(known))}


def _at_its_origin(fault: Fault, sources: Sequence[Imported]) -> Fault:
    """Return a fault of the merged record with the place in the source that it came from."""
    for source in sources:
        origins: Mapping[str, Any] = source.origins
        pointers = (fault.pointer.rpartition("/")[0] if up else fault.pointer for up in (False, True))
        origin = next((origins[pointer] for pointer in pointers if pointer in origins), None)
        if origin:
            problem = f"{origin.at} became {fault.pointer}: {fault.problem}"
            return Fault(origin.file, fault.pointer, origin.line, 0, problem, fault.remedy)
    return replace(fault, line=0, column=0)
