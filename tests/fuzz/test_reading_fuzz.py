"""Whatever the bytes, reading ends in a record or in a RecordError, and tells no secret."""

import contextlib

import orjson
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.errors import RecordError
from auditor.record.reading import Record, read_record
from tests.record.mutations import COMPLIANT, compliant, mutated

VALID = COMPLIANT.read_bytes()
CANARY = "s3cr3tCanary"
PIECES = [
    b"\x00",
    b"\xff",
    b'"',
    b"\\",
    b"{",
    b"}",
    b"[",
    b"]",
    b",",
    b":",
    b"\n",
    b"\\u003a",
    b"null",
    b"1e999",
]


def outcome(text: bytes) -> Record | RecordError:
    """Return the record or the error; anything else is a fault of ours and goes through."""
    try:
        return read_record(text, "card.json")
    except RecordError as error:
        return error


def is_told_well(found: Record | RecordError, text: bytes) -> bool:
    """Tell whether an error has faults, in file order, inside the text, each with its words."""
    if isinstance(found, Record):
        return True
    places = [(fault.line, fault.column) for fault in found.faults if fault.line]
    lines = text.count(b"\n") + 1
    worded = all(fault.problem and fault.remedy for fault in found.faults)
    return (
        bool(found.faults)
        and worded
        and places == sorted(places)
        and all(line <= lines for line, _ in places)
    )


def with_canaries() -> bytes:
    """Return the compliant card with every clear secret, and every key and hash, recognisable."""
    card = compliant()
    stack: list[object] = [card]
    while stack:
        node = stack.pop()
        if isinstance(node, dict):
            if "clear" in node:
                node["clear"] = CANARY
            stack += node.values()
        elif isinstance(node, list):
            stack += node
    return orjson.dumps(card, option=orjson.OPT_INDENT_2)


SECRETIVE = with_canaries()


@given(st.binary())
def test_random_bytes_are_told_well(text: bytes) -> None:
    """Random bytes are no record, and say why."""
    assert is_told_well(outcome(text), text)


@settings(deadline=None)
@given(
    st.recursive(
        st.none() | st.booleans() | st.integers() | st.text(),
        lambda i: st.lists(i) | st.dictionaries(st.text(), i),
    )
)
def test_random_json_is_told_well(document: object) -> None:
    """JSON that is no record says why, whatever it holds."""
    with contextlib.suppress(orjson.JSONEncodeError):  # integers beyond 64 bits are for the next test
        text = orjson.dumps(document)
        assert is_told_well(outcome(text), text)


@given(st.integers(0, len(SECRETIVE)))
def test_a_truncated_record_is_told_well(size: int) -> None:
    """Cut off anywhere, a record is refused at its end, and its secrets stay untold."""
    text = SECRETIVE[:size]
    found = outcome(text)
    assert is_told_well(found, text)
    assert CANARY[:6] not in str(found)


@settings(deadline=None, max_examples=200)
@given(st.integers(0, len(SECRETIVE)), st.integers(0, 12), st.sampled_from(PIECES))
def test_a_damaged_record_is_told_well(at: int, gap: int, piece: bytes) -> None:
    """A few bytes replaced anywhere give a record or faults, and tell no secret."""
    text = SECRETIVE[:at] + piece + SECRETIVE[at + gap :]
    found = outcome(text)
    assert is_told_well(found, text)
    assert CANARY[3:9] not in (str(found) if isinstance(found, RecordError) else "")


@settings(deadline=None, max_examples=200)
@given(mutated())
def test_a_mutated_record_is_told_well(card: dict[str, object]) -> None:
    """Wrong, missing and unknown members give a record or faults."""
    text = orjson.dumps(card)
    assert is_told_well(outcome(text), text)
