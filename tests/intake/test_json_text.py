"""JSON from strangers: what is refused, and where the fault stands."""

from typing import Any

import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.errors import Fault, InputError
from auditor.intake.json_text import read_json_text
from tests.intake.bound import bounded


def faults_of(text: bytes) -> tuple[Fault, ...]:
    """Return the faults of a text, read within a bound of time and memory."""
    with bounded(seconds=20, mebibytes=200), pytest.raises(InputError) as caught:
        read_json_text(text, "a.json")
    assert all(fault.file == "a.json" and fault.remedy for fault in caught.value.faults)
    return caught.value.faults


_JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-(2**53), 2**53) | st.text(),
    lambda inner: st.lists(inner) | st.dictionaries(st.text(), inner),
)


@given(_JSON)
def test_what_is_written_is_read(value: Any) -> None:
    """Any value comes back, with or without a byte order mark."""
    text = orjson.dumps(value)
    assert read_json_text(text, "a.json") == value
    assert read_json_text(b"\xef\xbb\xbf" + text, "a.json") == value


@pytest.mark.parametrize(
    ("text", "line", "column"),
    [
        (b"", 1, 1),
        (b'{"a": 1,\n "b": ', 2, 7),
        (b'{"a": 1}\n{"b": 2}', 2, 1),
        (b'{"a": NaN}', 1, 7),
        ('{"a": "\N{LATIN SMALL LETTER E WITH ACUTE}"}'.encode("latin-1"), 1, 8),
        ('{"a": 1}'.encode("utf-16"), 1, 1),
    ],
)
def test_a_text_that_is_no_json_has_one_fault_with_its_place(text: bytes, line: int, column: int) -> None:
    """Cut off, two values, another encoding: line and column of where it breaks."""
    [fault] = faults_of(text)
    assert (fault.line, fault.column) == (line, column)


def test_a_member_that_stands_twice_is_refused(tmp_path: object) -> None:
    """Neither of the two is silently dropped, however the name is written."""
    del tmp_path
    for text in (b'{"a": 1, "a": 1}', b'{"a": 1, "\\u0061": 2}', b'{"x": {"a:": 1, "a\\u003a": 2}}'):
        assert [fault.problem for fault in faults_of(text)] == ["this member stands twice"]


def test_every_member_that_stands_twice_is_told() -> None:
    """A file is mended once, not once for each fault."""
    assert [fault.pointer for fault in faults_of(b'{"a": 1, "a": 1, "b": [{"c": 1, "c": 1}]}')] == [
        "/a",
        "/b/0/c",
    ]


@pytest.mark.parametrize("depth", [65, 1000, 100_000])
def test_deep_nesting_is_refused(depth: int) -> None:
    """Brackets in brackets end in an error, not in a crash of the interpreter."""
    [fault] = faults_of(b"[" * depth + b"]" * depth)
    assert fault.problem == "brackets nest deeper than 64 levels"


def test_nesting_as_deep_as_allowed_is_read() -> None:
    """The limit itself is allowed."""
    assert read_json_text(b"[" * 64 + b"]" * 64, "a.json")


def test_no_fault_repeats_the_text() -> None:
    """A text that breaks may hold a secret; its words stay out of the error."""
    assert "hunter2" not in str(faults_of(b'{"CommunityString": "hunter2" "b"}'))
