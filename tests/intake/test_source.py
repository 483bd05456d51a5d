"""Paths to raw records: what is read, in which order, and the fault of what can't be."""

import gzip
import io
import os
from pathlib import Path

import pytest

from auditor.errors import Fault
from auditor.intake.source import RawRecord, open_sources
from auditor.record.limits import Limits

SMALL = Limits(record_bytes=100)


def read(*paths: Path | str, stdin: bytes = b"", limits: Limits = SMALL) -> list[RawRecord | Fault]:
    """Return everything that the paths lead to."""
    return list(open_sources([str(path) for path in paths], io.BytesIO(stdin), limits))


def texts(found: list[RawRecord | Fault]) -> list[bytes]:
    """Return the bytes of the records, which must be all there is."""
    assert all(isinstance(raw, RawRecord) for raw in found), found
    return [raw.text for raw in found if isinstance(raw, RawRecord)]


def only_fault(found: list[RawRecord | Fault]) -> Fault:
    """Return the only fault among what was found."""
    [fault] = [one for one in found if isinstance(one, Fault)]
    return fault


def test_a_json_file_is_one_record_as_it_stands(tmp_path: Path) -> None:
    """The bytes are not touched, and the record begins on line 1."""
    path = tmp_path / "a.json"
    path.write_bytes(b"\xef\xbb\xbf{\r\n}\r\n")
    assert read(path) == [RawRecord(b"\xef\xbb\xbf{\r\n}\r\n", str(path), 1)]


def test_an_ndjson_file_is_one_record_a_line(tmp_path: Path) -> None:
    """Blank lines are skipped but counted; the last line needs no end."""
    path = tmp_path / "a.ndjson"
    path.write_bytes(b'{"a":1}\r\n\n \t\n {"b":2}\n{"c":3}')
    found = [(raw.text, raw.line) for raw in read(path) if isinstance(raw, RawRecord)]
    assert found == [(b'{"a":1}', 1), (b' {"b":2}', 4), (b'{"c":3}', 5)]


@pytest.mark.parametrize(("name", "records"), [("a.json.gz", 1), ("a.ndjson.gz", 2), ("A.NDJSON.GZ", 2)])
def test_gzip_is_unpacked(tmp_path: Path, name: str, records: int) -> None:
    """Either kind of file may be compressed; the ending says so in any case of letters."""
    path = tmp_path / name
    path.write_bytes(gzip.compress(b"{}\n{}\n"))
    assert len(texts(read(path))) == records


def test_a_folder_is_read_in_sorted_order_whatever_the_depth(tmp_path: Path) -> None:
    """Files and folders are sorted together; other endings, hidden names and schemas are left out."""
    for name in (
        "b.json",
        "a/z.json",
        "a/y/x.ndjson",
        "c.json.gz",
        ".hidden.json",
        ".git/q.json",
        "r.txt",
        "d.schema.json",
    ):
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(gzip.compress(b"{}") if name.endswith("gz") else b"{}")
    files = [Path(raw.file).relative_to(tmp_path).as_posix() for raw in read(tmp_path)]
    assert files == ["a/y/x.ndjson", "a/z.json", "b.json", "c.json.gz"]


def test_a_hidden_file_or_schema_is_read_when_it_is_named(tmp_path: Path) -> None:
    """Only what is met in a folder is left out, never what somebody names."""
    for name in (".hidden.json", "d.schema.json"):
        (tmp_path / name).write_bytes(b"{}")
    assert texts(read(tmp_path / ".hidden.json", tmp_path / "d.schema.json")) == [b"{}", b"{}"]


def test_a_loop_of_links_ends_and_each_folder_is_read_once(tmp_path: Path) -> None:
    """A link back up, and a second link to the same folder, give no record twice."""
    (tmp_path / "site").mkdir()
    (tmp_path / "site" / "a.json").write_bytes(b"{}")
    (tmp_path / "site" / "up").symlink_to(tmp_path, target_is_directory=True)
    (tmp_path / "again").symlink_to(tmp_path / "site", target_is_directory=True)
    assert texts(read(tmp_path)) == [b"{}"]


def test_a_broken_link_is_a_fault_and_reading_goes_on(tmp_path: Path) -> None:
    """A record that should be there and is not is never passed over in silence."""
    (tmp_path / "a.json").symlink_to(tmp_path / "gone.json")
    (tmp_path / "b.json").write_bytes(b"{}")
    found = read(tmp_path)
    assert only_fault(found).problem == "can't be read: no such file or directory"
    assert found[1:] == [RawRecord(b"{}", str(tmp_path / "b.json"), 1)]


def test_a_folder_nested_beyond_any_recursion_is_read(tmp_path: Path) -> None:
    """Depth of folders costs no recursion."""
    deep = [tmp_path]
    for _ in range(1100):
        deep.append(deep[-1] / "d")
        deep[-1].mkdir()
    (deep[-1] / "a.json").write_bytes(b"{}")
    found = read(tmp_path)
    (deep[-1] / "a.json").unlink()
    for folder in reversed(deep[1:]):  # the tidying of the test runner is recursive
        folder.rmdir()
    assert texts(found) == [b"{}"]


def test_what_is_not_there_is_a_fault(tmp_path: Path) -> None:
    """A missing path is named, and the paths after it are still read."""
    (tmp_path / "a.json").write_bytes(b"{}")
    found = read(tmp_path / "none.json", tmp_path / "none", tmp_path / "a.json")
    assert [one.problem for one in found if isinstance(one, Fault)] == [
        "can't be read: no such file or directory"
    ] * 2
    assert found[2:] == [RawRecord(b"{}", str(tmp_path / "a.json"), 1)]


def test_a_path_that_no_file_can_have_is_a_fault(tmp_path: Path) -> None:
    """A link to itself, a name too long, and one with a null in it are named with a reason."""
    (tmp_path / "a.json").symlink_to(tmp_path / "a.json")
    found = read(tmp_path / "a.json", "x" * 5000 + ".json", "a\0.json")
    assert [one.problem for one in found if isinstance(one, Fault)] == [
        "can't be read: too many levels of symbolic links",
        "can't be read: file name too long",
        "can't be read: embedded null byte",
    ]


def test_an_unknown_ending_is_a_fault_that_lists_the_known_ones(tmp_path: Path) -> None:
    """A file is not guessed at: the remedy lists the endings."""
    (tmp_path / "a.txt").write_bytes(b"{}")
    fault = only_fault(read(tmp_path / "a.txt"))
    assert fault.problem == "not the ending of a record file"
    assert fault.remedy == (
        "Name a record with one of .json, .ndjson, .json.gz, .ndjson.gz. "
        "If a card exported this file, give the map of such exports: --map FILE."
    )


def test_a_folder_without_records_is_a_fault(tmp_path: Path) -> None:
    """An empty folder is more likely a wrong path than an estate without cards."""
    assert only_fault(read(tmp_path)).problem == "no records below this folder"


@pytest.mark.parametrize("name", ["a.ndjson", "a.ndjson.gz"])
def test_a_file_of_lines_without_records_is_a_fault(tmp_path: Path, name: str) -> None:
    """A file of blank lines is not passed over in silence."""
    (tmp_path / name).write_bytes(gzip.compress(b"\n\n") if name.endswith("gz") else b"\n\n")
    assert only_fault(read(tmp_path / name)).problem == "holds no record"


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may read every file")
def test_an_unreadable_file_and_folder_are_faults(tmp_path: Path) -> None:
    """Both are named with the reason of the system."""
    (tmp_path / "a.json").write_bytes(b"{}")
    (tmp_path / "a.json").chmod(0)
    (tmp_path / "shut").mkdir(mode=0)
    found = read(tmp_path / "a.json", tmp_path / "shut")
    (tmp_path / "shut").chmod(0o700)
    assert [one.problem for one in found if isinstance(one, Fault)] == [
        "can't be read: permission denied",
        "can't be read: permission denied",
        "no records below this folder",
    ]


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no named pipes here")
def test_a_pipe_among_the_files_does_not_hang(tmp_path: Path) -> None:
    """What is no ordinary file is a fault, and is not opened."""
    os.mkfifo(tmp_path / "a.json")
    assert only_fault(read(tmp_path)).problem == "no ordinary file"


def test_a_file_too_large_is_a_fault(tmp_path: Path) -> None:
    """The limit is exact, packed or not."""
    for name, pack in (("a.json", bytes), ("a.json.gz", gzip.compress)):
        (tmp_path / name).write_bytes(pack(b" " * 100))
        assert texts(read(tmp_path / name)) == [b" " * 100]
        (tmp_path / name).write_bytes(pack(b" " * 101))
        assert only_fault(read(tmp_path / name)).problem == "larger than 100 bytes, the most for one record"


def test_a_line_too_long_is_a_fault_and_reading_goes_on(tmp_path: Path) -> None:
    """One fault for the line, with its number; the lines after it are read."""
    path = tmp_path / "a.ndjson"
    path.write_bytes(b"{}\n" + b"x" * 100_000 + b"\n" + b"y" * 100 + b"\n")
    found = read(path)
    fault = only_fault(found)
    assert (fault.line, fault.problem) == (2, "larger than 100 bytes, the most for one record")
    assert [(raw.text[:2], raw.line) for raw in found if isinstance(raw, RawRecord)] == [
        (b"{}", 1),
        (b"yy", 3),
    ]


@pytest.mark.parametrize("content", [b"{}\n" + b"x" * 50_000_000 + b"\n{}\n", b"{}\n" + b"\n" * 50_000_000])
def test_a_compressed_bomb_is_left_at_the_limit(tmp_path: Path, content: bytes) -> None:
    """A long line, or endless blank lines, in a small compressed file end its reading."""
    path = tmp_path / "a.ndjson.gz"
    path.write_bytes(gzip.compress(content, 1))
    found = read(path)
    assert [type(one) for one in found] == [RawRecord, Fault]


def test_endless_blank_lines_end_the_reading(tmp_path: Path) -> None:
    """Blank lines beyond the size of a record are one fault."""
    path = tmp_path / "a.ndjson"
    path.write_bytes(b"\n" * 200 + b"{}\n")
    assert only_fault(read(path)).problem == "endless blank lines"


@pytest.mark.parametrize("name", ["a.json.gz", "a.ndjson.gz"])
def test_damaged_gzip_is_one_clear_fault(tmp_path: Path, name: str) -> None:
    """Cut off or altered: one fault, and no traceback."""
    whole = gzip.compress(os.urandom(40).hex().encode())
    for damaged in (whole[:1], whole[:-9], whole[:20] + bytes(8) + whole[28:]):
        (tmp_path / name).write_bytes(damaged)
        assert only_fault(read(tmp_path / name)).problem == "the gzip data is cut off or damaged"


def test_what_is_not_gzip_is_told_so(tmp_path: Path) -> None:
    """A name that promises too much is no damage."""
    (tmp_path / "a.json.gz").write_bytes(b"{}")
    fault = only_fault(read(tmp_path / "a.json.gz"))
    assert fault.problem == "not gzip data, although its name says so"
    assert fault.remedy == "If it is not packed, name it without .gz."


@pytest.mark.parametrize(
    ("stdin", "records"),
    [
        (b'{"a": 1}', [(b'{"a": 1}', 1)]),
        (b'\n\n{"a":\n 1}\n', [(b'{"a":\n 1}\n', 3)]),
        (b"\xef\xbb\xbf{\n}", [(b"\xef\xbb\xbf{\n}", 1)]),
        (b'{"a":1}\n\n{"b":2}\n', [(b'{"a":1}', 1), (b'{"b":2}', 3)]),
        (b'{"a" 1}\n{"b":2}\n', [(b'{"a" 1}', 1), (b'{"b":2}', 2)]),
        (b"[\n1]", [(b"[\n1]", 1)]),
    ],
)
def test_standard_input_is_told_by_its_first_line(stdin: bytes, records: list[tuple[bytes, int]]) -> None:
    """A first line that is cut-off JSON begins one object; anything else is a line of many."""
    found = [(raw.text, raw.line) for raw in read("-", stdin=stdin) if isinstance(raw, RawRecord)]
    assert found == records


def test_standard_input_keeps_the_limit() -> None:
    """An object over many lines is bounded like any other record."""
    assert texts(read("-", stdin=b"{\n" + b" " * 98)) == [b"{\n" + b" " * 98]
    assert only_fault(read("-", stdin=b"{\n" + b" " * 99)).problem.startswith("larger than 100 bytes")


def test_empty_standard_input_is_a_fault() -> None:
    """Nothing came, and that is said."""
    assert only_fault(read("-")).problem == "holds no record"


def test_standard_input_can_be_named_once() -> None:
    """A second - would find nothing, so it is a fault."""
    found = read("-", "-", stdin=b"{}")
    assert (texts(found[:1]), only_fault(found).problem) == ([b"{}"], "standard input is named twice")


def test_paths_come_in_the_order_given(tmp_path: Path) -> None:
    """Files, folders and standard input mix freely."""
    (tmp_path / "b").mkdir()
    (tmp_path / "b" / "b.json").write_bytes(b"[2]")
    (tmp_path / "a.json").write_bytes(b"[3]")
    assert texts(read("-", tmp_path / "b", tmp_path / "a.json", stdin=b"[1]")) == [b"[1]", b"[2]", b"[3]"]


def test_a_file_name_that_is_no_text_can_be_shown(tmp_path: Path) -> None:
    """Every output can hold the name of the file, whatever its bytes are."""
    try:
        (tmp_path / os.fsdecode(b"\xff.json")).write_bytes(b"{}")
    except OSError:
        pytest.skip("this file system takes only text as names")
    [raw] = read(tmp_path)
    assert raw.file.encode("utf-8").endswith(b"\\xff.json")
