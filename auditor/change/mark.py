"""A mark: the approved settings of a card at a moment, sealed, and evident if anybody alters it.

Made and checked here; where marks lie, and the site's key, are the caller's. The digest is over
canonical JSON, so that an indent or another order of members is no alteration. Who alters a mark
can make its digest anew; only the keyed tag, made with the site's key, tells that too.

Source: RFC 8785 (canonical JSON), FIPS 180-4 (SHA-256), RFC 2104 (HMAC).
"""

import hashlib
import hmac
from collections.abc import Mapping, Sequence
from datetime import datetime
from enum import StrEnum
from functools import cache
from importlib.resources import files
from secrets import token_bytes
from typing import Any, Final

import orjson

from auditor.dataclass import dataclass
from auditor.errors import Fault, RecordError
from auditor.facts.fact import Context
from auditor.facts.sealing import KEY_OCTETS, key_name, seal
from auditor.record.reading import Record, read_record
from auditor.record.secret_place import located_secrets
from auditor.record.settings import Settings
from auditor.rules.program import Program

SCHEMA: Final = "witnessmark/mark-1"
_DOMAIN: Final = b"witnessmark/mark-1\0"
_INDENT: Final = orjson.OPT_INDENT_2 | orjson.OPT_SORT_KEYS | orjson.OPT_APPEND_NEWLINE


class Seal(StrEnum):
    """Whether a mark is what was approved.

    ``whole``: its digest fits, and with a key its tag. ``altered``: one of them does not.
    ``untagged``: a key was given, and the mark has no tag. ``other-key``: it has one of another key.
    """

    WHOLE = "whole"
    ALTERED = "altered"
    UNTAGGED = "untagged"
    OTHER_KEY = "other-key"


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark as it was read: who approved which record when, and its settings as a record."""

    file: str
    card_id: str
    by: str
    at: str
    record_digest: str
    rulesets: tuple[str, ...]
    seal: Seal
    record: Record


def make_mark(record: Record, by: str, context: Context, program: Program, key: bytes | None) -> bytes:
    """Return the text of a mark of a record, sorted and indented so that people can review it.

    ``context`` gives the moment of approval. Without a key, what is kept of a clear secret can't be
    compared with another: it has no tag, and neither has the mark.
    """
    document = {
        "schema": SCHEMA,
        "card": record.card_id,
        "approved": {"by": by, "at": _moment(context.as_of)},
        "record": {"digest": f"sha256:{record.digest}"},
        "rulesets": _rulesets(program),
        "settings": sealed_settings(record.settings, key, context),
    }
    body = _canonical(document, record)
    document["digest"] = f"sha256:{hashlib.sha256(body).hexdigest()}"
    if key is not None:
        document["tag"] = {"key": key_name(key), "hmac_sha256": _tag(body, key)}
    return orjson.dumps(document, option=_INDENT)


def sealed_settings(settings: Settings, key: bytes | None, context: Context) -> Settings:
    """Return settings without a clear secret; without a key no tag stands in what is newly sealed."""
    if key is not None:
        return seal(settings, key, context)
    once = token_bytes(KEY_OCTETS)  # of nobody's, and forgotten: a tag of it could not be compared
    sealed = seal(settings, once, context)
    for located in located_secrets(sealed):
        held = located.secret.get("sealed")
        if held is not None and held.get("key") == key_name(once):
            del held["key"], held["tag"]
    return sealed


def read_mark(text: bytes, file: str, key: bytes | None) -> Mark:
    """Return a mark, whole or not.

    Raises:
        RecordError: if the text is no mark.
    """
    document = _parsed(text, file)
    record = _record_of(document, file)
    return Mark(
        file,
        document["card"],
        document["approved"]["by"],
        document["approved"]["at"],
        document["record"]["digest"],
        tuple(f"{each['name']} {each['version']}" for each in document["rulesets"]),
        _seal_of(document, record, key),
        record,
    )


def _moment(as_of: datetime) -> str:
    return as_of.isoformat(timespec="seconds")


def _rulesets(program: Program) -> list[dict[str, str]]:
    """Return the rules by which it was approved, the site's own file last."""
    chosen = program.tailoring
    site = [{"name": "site", "version": "own", "digest": f"sha256:{chosen.digest}"}] if chosen.digest else []
    named = [
        {"name": each.name, "version": each.version, "digest": f"sha256:{each.digest}"}
        for each in program.rulesets
    ]
    return [*named, *site]


def _canonical(document: Mapping[str, Any], record: Record) -> bytes:
    import rfc8785  # only marks need it

    try:
        return rfc8785.dumps(dict(document))
    except (rfc8785.CanonicalizationError, RecursionError) as error:
        problem = "holds a number that canonical JSON can't hold (RFC 8785)"
        fault = Fault(record.file, "", record.line, 0, problem, "Write it with at most fifteen digits.")
        raise RecordError([fault]) from error


def _tag(body: bytes, key: bytes) -> str:
    return hmac.digest(key, _DOMAIN + body, "sha256").hex()


def _seal_of(document: Mapping[str, Any], record: Record, key: bytes | None) -> Seal:
    body = _canonical({n: v for n, v in document.items() if n not in ("digest", "tag")}, record)
    if document["digest"] != f"sha256:{hashlib.sha256(body).hexdigest()}":
        return Seal.ALTERED
    if document["card"] != record.card_id:
        return Seal.ALTERED
    if key is None:
        return Seal.WHOLE
    tag = document.get("tag")
    if tag is None:
        return Seal.UNTAGGED
    if tag["key"] != key_name(key):
        return Seal.OTHER_KEY
    fits = hmac.compare_digest(tag["hmac_sha256"], _tag(body, key))
    return Seal.WHOLE if fits else Seal.ALTERED


def _parsed(text: bytes, file: str) -> dict[str, Any]:
    try:
        document = orjson.loads(text)
    except orjson.JSONDecodeError as error:
        raise RecordError([Fault(file, "", 0, 0, "no JSON", _MARK_AGAIN)]) from error
    from auditor.record.wording import describe_errors

    found = [
        Fault(file, _pointer(path), 0, 0, problem, remedy or _MARK_AGAIN)
        for path, problem, remedy in describe_errors(document, mark_schema())
    ]
    if found:
        raise RecordError(found)
    parsed: dict[str, Any] = document
    return parsed


_MARK_AGAIN: Final = (
    "Take it from version control again, or mark the card anew: witnessmark mark RECORD --by NAME."
)


def _pointer(path: Sequence[str | int]) -> str:
    return "".join(f"/{token}" for token in path)


def _record_of(document: Mapping[str, Any], file: str) -> Record:
    """Return the settings of a mark as a record; its faults are told as those of the mark."""
    return read_record(orjson.dumps(document["settings"]), file)


@cache
def mark_schema() -> Mapping[str, Any]:
    """Return the JSON Schema of a mark."""
    schema: Mapping[str, Any] = orjson.loads(
        files("auditor.change").joinpath("mark-1.schema.json").read_bytes()
    )
    return schema
