"""A text of ten million letters in a record: one short fault, in every format, without delay."""

import io
import json
from collections.abc import Iterator
from typing import Any

import pytest

from auditor.errors import Fault, RecordError
from auditor.record.reading import read_record
from auditor.report.formats import FORMATS
from auditor.report.writer import Look
from tests.intake.bound import bounded
from tests.report.hostile import hostile_card
from tests.report.sample import make_run, sum_up

LONG = "x" * 10_000_000
SHORT = 500
"""Letters of a fault: what is wrong, what belongs there, what to do."""


def pointers(value: Any, path: str = "") -> Iterator[str]:
    """Yield the pointer of every text in a record."""
    members = (
        value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    )
    for name, inner in members:
        yield from pointers(inner, f"{path}/{name}")
    if isinstance(value, str):
        yield path


def with_long_text(pointer: str) -> bytes:
    """Return a record that holds the long text in one place."""
    record: Any = hostile_card("text")
    *path, last = pointer.split("/")[1:]
    node = record
    for step in path:
        node = node[int(step) if isinstance(node, list) else step]
    node[int(last) if isinstance(node, list) else last] = LONG
    return json.dumps(record).encode()


def faults_of(pointer: str) -> tuple[Fault, ...]:
    """Return the faults of a record that holds the long text in one place."""
    with pytest.raises(RecordError) as refused:
        read_record(with_long_text(pointer), "long.json")
    return refused.value.faults


def every_tenth() -> list[str]:
    """Return every tenth text of a record, and those that have a form of their own."""
    found = list(pointers(hostile_card("text")))
    apart = ("/schema", "/card/id", "/tls/certificate/pem", "/site_notes", "/unmapped/0", "/capture/taken_at")
    return sorted({*found[::10], *(one for one in found if one in apart or one.endswith("/clear"))})


@pytest.mark.parametrize("pointer", every_tenth())
def test_a_long_text_is_one_short_fault(pointer: str) -> None:
    """Whatever the member: one fault, few letters, no long look for a word that is like it."""
    with bounded(seconds=10, mebibytes=200):
        [fault] = faults_of(pointer)
    assert len(str(fault)) < SHORT


@pytest.mark.parametrize("name", FORMATS)
def test_the_fault_is_short_in_every_format(name: str) -> None:
    """A report of records with long texts is no longer than one of records with other faults."""
    long = sum_up(make_run(), (), faults_of("/card/name"))
    usual = sum_up(make_run(), (), [Fault("usual.json", "/card/id", 1, 2, "found a number", "Write text.")])
    sizes = []
    for summary in (long, usual):
        stream = io.BytesIO()
        FORMATS[name]()(make_run(), stream, Look()).finish(summary)
        sizes.append(len(stream.getvalue()))
    assert sizes[0] - sizes[1] < SHORT
