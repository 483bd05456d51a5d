"""Maps and sources for the tests of maps: written in a few lines, loaded and applied."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any, Final

import orjson

from auditor.errors import Fault, InputError
from auditor.intake.imported import Imported
from auditor.intake.mapping.applying import apply_map
from auditor.intake.mapping.language import Map
from auditor.intake.mapping.loading import load_map
from auditor.record.pointer import split, value_at
from auditor.record.reading import read_record

MAPS: Final = Path(__file__).parents[3] / "fixtures" / "imports" / "maps"

FAMILIES: Final = (
    ("card-family-a", "wvl-ups-store.xml"),
    ("card-family-a", "wvl-sts-hall.xml"),
    ("card-family-b", "rsv-ups-pumps.txt"),
    ("card-family-b", "rsv-ups-valves.txt"),
    ("card-family-c", "mkt-pdu-row-2.json"),
    ("card-family-c", "mkt-hub-row-9.json"),
)


def family_map(family: str) -> Map:
    """Return the map of one of the invented families."""
    return load_map((MAPS / f"{family}.toml").read_bytes(), f"{family}.toml")


def made(source: str, body: str, head: str = "") -> Map:
    """Return a map of a source kind from its settings and lists."""
    text = f'[map]\nname = "m"\nfor = "tests"\nsource = "{source}"\nmethod = "export"\n{head}\n{body}'
    return load_map(text.encode(), "m.toml")


def setting(to: str, *options: str, place: str = "x") -> str:
    """Return one setting of a map, with its options as lines of TOML."""
    return "\n".join(["[[setting]]", f'to = "{to}"', f'from = "{place}"', *options, ""])


def taken(chosen: Map, text: str | bytes, pointer: str) -> Any:
    """Return what a map made of one place of a record; None if it made nothing of it."""
    return value_at(imported(chosen, text).settings, split(pointer))


def imported(chosen: Map, text: str | bytes) -> Imported:
    """Return what a map made of the one card of a source."""
    [one] = apply_map(chosen, text.encode() if isinstance(text, str) else text, "source.x")
    return one


def whys(one: Imported) -> list[str]:
    """Return why settings were lost, in order."""
    return [lost.why for lost in one.lost]


def faults_of(error: InputError) -> Sequence[tuple[int, str]]:
    """Return line and problem of every fault."""
    return [(fault.line, fault.problem) for fault in error.faults]


def one_fault(error: InputError) -> Fault:
    """Return the only fault."""
    [fault] = error.faults
    return fault


def as_record(one: Imported) -> dict[str, Any]:
    """Return an import as a record, once the schema has taken it."""
    card = {**one.settings.get("card", {}), "id": one.card_id}
    settings = {"schema": "witnessmark/card-1", **one.settings, "card": card}
    read_record(orjson.dumps(settings), "record")
    return settings
