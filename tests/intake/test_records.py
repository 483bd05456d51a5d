"""Paths to validated records: reading on after a bad one, and no card id twice."""

import io
import tracemalloc
from collections.abc import Iterable
from pathlib import Path

import orjson
from hypothesis import given
from hypothesis import strategies as st

from auditor.errors import Fault, RecordError
from auditor.intake.card_ids import CardIds
from auditor.intake.records import read_records
from auditor.record.reading import Record


def card(card_id: str) -> bytes:
    """Return the smallest record of a card."""
    return orjson.dumps({"schema": "witnessmark/card-1", "card": {"id": card_id}})


def read(*paths: Path | str, stdin: bytes = b"") -> list[Record | RecordError]:
    """Return everything that the paths lead to."""
    return list(read_records([str(path) for path in paths], io.BytesIO(stdin)))


def faults(found: Iterable[Record | RecordError]) -> list[Fault]:
    """Return all faults, in order."""
    return [fault for one in found if isinstance(one, RecordError) for fault in one.faults]


def ids(found: Iterable[Record | RecordError]) -> list[str]:
    """Return the ids of the records, in order."""
    return [one.card_id for one in found if isinstance(one, Record)]


def test_reading_goes_on_after_a_bad_record(tmp_path: Path) -> None:
    """A bad line, a missing file: an error each, in their place, and all else is read."""
    path = tmp_path / "a.ndjson"
    path.write_bytes(card("a") + b'\n{"x":\n' + card("b"))
    found = read(path, tmp_path / "none.json", "-", stdin=card("c"))
    assert [type(one) for one in found] == [Record, RecordError, Record, RecordError, Record]
    assert (ids(found), [fault.line for fault in faults(found)]) == (["a", "b", "c"], [2, 0])


def test_a_card_id_used_twice_names_both_places(tmp_path: Path) -> None:
    """The second record is the error; it has its own place and names the first."""
    (tmp_path / "a.ndjson").write_bytes(card("x") + b"\n" + card("a"))
    (tmp_path / "b.json").write_bytes(b'{"schema": "witnessmark/card-1",\n "card": {"id": "a"}}')
    found = read(tmp_path)
    [fault] = faults(found)
    assert ids(found) == ["x", "a"]
    assert (fault.file, fault.pointer, fault.line, fault.column) == (
        str(tmp_path / "b.json"),
        "/card/id",
        2,
        17,
    )
    assert fault.problem == f"card id a is also the id of the record in {tmp_path / 'a.ndjson'}, line 2"


def test_lines_of_a_second_record_count_from_its_own_first_line(tmp_path: Path) -> None:
    """The place of a doubled id in a file of lines is the line of its record."""
    path = tmp_path / "a.ndjson"
    path.write_bytes(card("a") + b"\n\n" + card("a"))
    [fault] = faults(read(path))
    assert (fault.line, fault.problem) == (3, f"card id a is also the id of the record in {path}, line 1")


def test_a_file_named_twice_is_read_once(tmp_path: Path) -> None:
    """The same record met again is no second card, and no fault."""
    path = tmp_path / "a.json"
    path.write_bytes(card("a"))
    found = read(path, path, tmp_path)
    assert len(found) == 1
    assert faults(found) == []


def test_a_third_use_of_a_card_id_names_the_first() -> None:
    """Every further record with the id is an error that names the first place."""
    found = read("-", stdin=b"\n".join([card("a")] * 3))
    assert [fault.problem.rpartition(" ")[2] for fault in faults(found)] == ["1", "1"]


PLACES = st.tuples(st.sampled_from(["a.json", "s/a.json", "s/t/é.json", "-", "/", ""]), st.integers(1, 2**31))


@given(st.lists(st.tuples(st.text(max_size=3), PLACES)))
def test_the_first_place_of_an_id_is_kept(cards: list[tuple[str, tuple[str, int]]]) -> None:
    """Ids behave as keys of a plain dictionary that keeps the first entry."""
    met: dict[str, tuple[str, int]] = {}
    card_ids = CardIds()
    for card_id, place in cards:
        assert card_ids.add(card_id, *place) == met.get(card_id)
        met.setdefault(card_id, place)


def test_a_card_id_costs_less_than_sixty_bytes() -> None:
    """A hundred thousand cards, each in a file of its own, stay below 60 bytes a card."""
    many = 100_000
    tracemalloc.start()
    card_ids = CardIds()
    for number in range(many):
        card_ids.add(f"site-{number % 90}-ups-{number}", f"estate/site-{number % 90}/ups-{number}.json", 1)
    used, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert used / many < 60
