"""Instances for the tests of the readers, and what every import must keep to."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Final

import orjson

from auditor.intake.imported import Imported
from auditor.intake.netconf import read_netconf
from auditor.record.pointer import join, split, value_at
from auditor.record.reading import read_record

FOLDER: Final = Path(__file__).parents[3] / "fixtures" / "imports" / "netconf"


def imported(instance: object) -> Imported:
    """Import an instance in its JSON form, and check what holds for every import."""
    return checked(json.dumps(instance).encode(), "card-1.json")


def from_file(name: str) -> Imported:
    """Import a fixture, and check what holds for every import."""
    return checked((FOLDER / name).read_bytes(), name)


def checked(text: bytes, file: str) -> Imported:
    """Import a text: its settings are a valid record, and each has its origin, a line of the text."""
    [found] = read_netconf(text, file)
    card = {"id": found.card_id, **found.settings.get("card", {})}
    record = {**found.settings, "schema": "witnessmark/card-1", "card": card}
    read_record(orjson.dumps(record), file)
    whole = {tuple(split(pointer)) for pointer in found.origins}
    for path in _leaves(found.settings, ()):
        assert any(path[:size] in whole for size in range(len(path) + 1)), join(path)
    for pointer, origin in found.origins.items():
        assert value_at(found.settings, split(pointer)) is not None, pointer
        assert origin.file == file
        assert 1 <= origin.line <= text.count(b"\n") + 1
        assert origin.at
    return found


def _leaves(value: Any, path: tuple[str, ...]) -> Iterator[tuple[str, ...]]:
    if isinstance(value, dict) and value:
        for name, inner in value.items():
            yield from _leaves(inner, (*path, name))
    elif isinstance(value, list) and value:
        for index, inner in enumerate(value):
            yield from _leaves(inner, (*path, str(index)))
    elif path:
        yield path


def whys(found: Imported) -> list[str]:
    """Return why things were lost, in order, without the place of what was kept instead."""
    return [lost.why.partition("; kept as told at")[0] for lost in found.lost]
