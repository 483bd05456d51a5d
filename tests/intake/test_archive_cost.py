"""Archives that cost too much, are cut off or damaged: an error in bounded time and memory, no traceback."""

import random
import struct
import tarfile
from contextlib import suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.errors import InputError
from auditor.intake.archive import read_entries
from auditor.intake.archive_guard import DEFAULT, ArchiveLimits
from tests.intake.bound import bounded
from tests.intake.packing import FILES, PACKERS, WRITERS, Writer, as_tar, drained, fault_of, noise

MEBIBYTE = 1024 * 1024
FEW = ArchiveLimits(entries=100, entry_bytes=64 * 1024, total_bytes=256 * 1024, free_bytes=16 * 1024)


@pytest.mark.parametrize("write", PACKERS)
def test_a_bomb_is_refused(tmp_path: Path, write: Writer) -> None:
    """Zeros that pack a thousand to one are refused long before they are unpacked."""
    bomb = write(tmp_path, {f"{number}.json": bytes(15 * MEBIBYTE) for number in range(20)})
    with bounded(seconds=20, mebibytes=48), pytest.raises(InputError) as caught:
        drained(bomb)
    [fault] = caught.value.faults
    assert fault.problem in {
        "unpacks to more than 200 times its size",
        f"more than {DEFAULT.total_bytes} bytes unpacked",
    }


@pytest.mark.parametrize("write", PACKERS)
def test_a_bomb_in_an_unwanted_file_is_refused_or_never_unpacked(tmp_path: Path, write: Writer) -> None:
    """A tar has to be read through what nobody wants; that costs no more than what is wanted."""
    bomb = write(tmp_path, {"a.bin": bytes(15 * MEBIBYTE), "b.json": b"{}"})
    with bounded(seconds=20, mebibytes=48), suppress(InputError):
        list(read_entries(str(bomb), lambda name: name.endswith(".json")))


@pytest.mark.parametrize("write", WRITERS)
def test_a_file_too_large_is_refused(tmp_path: Path, write: Writer) -> None:
    """One file may not be larger than the limit."""
    large = noise(FEW.entry_bytes + 1)
    fault = fault_of(write(tmp_path, {"a.json": large}), FEW)
    assert fault.file.endswith("a.json")
    assert "the most for one file" in fault.problem


@pytest.mark.parametrize("write", WRITERS)
def test_too_much_in_all_is_refused(tmp_path: Path, write: Writer) -> None:
    """Many files, each allowed, may not be too much together."""
    part = noise(FEW.entry_bytes - 1)
    many = {f"{number}.json": part for number in range(6)}
    assert "bytes unpacked" in fault_of(write(tmp_path, many), FEW).problem


@pytest.mark.parametrize("write", WRITERS)
def test_thousands_of_entries_are_refused(tmp_path: Path, write: Writer) -> None:
    """The count of entries is bounded, empty ones counted in."""
    many = {f"{number}.json": b"" for number in range(DEFAULT.entries + 1)}
    assert fault_of(write(tmp_path, many)).problem == f"more than {DEFAULT.entries} entries"


def test_a_zip_of_millions_of_entries_is_refused_before_its_list_is_made(tmp_path: Path) -> None:
    """A list of entries of many megabytes is never turned into objects."""
    entry = struct.pack("<4s4B4HL2L5H2L", b"PK\x01\x02", *[0] * 18) + b"a"
    size = len(entry) * 400_000
    end = struct.pack("<4s4H2LH", b"PK\x05\x06", 0, 0, 0xFFFE, 0xFFFE, size, 4, 0)
    (tmp_path / "a.zip").write_bytes(b"PK\x03\x04" + entry * 400_000 + end)
    assert fault_of(tmp_path / "a.zip").problem == f"more than {DEFAULT.entries} entries"


@pytest.mark.parametrize("kind", [tarfile.GNUTYPE_LONGNAME, tarfile.XHDTYPE, tarfile.XGLTYPE])
def test_a_tar_header_of_many_megabytes_is_refused(tmp_path: Path, kind: bytes) -> None:
    """An extended header is read whole by the library, so the stream ends before it is large."""
    member = tarfile.TarInfo("x")
    member.type, member.size = kind, 200 * MEBIBYTE
    (tmp_path / "a.tar").write_bytes(member.tobuf() + bytes(200 * MEBIBYTE))
    assert "cut off or damaged" in fault_of(tmp_path / "a.tar").problem


def test_tar_headers_inside_headers_are_refused(tmp_path: Path) -> None:
    """A chain of ten thousand long names, each before the next, ends in an error, not in a crash."""
    member = tarfile.TarInfo("x")
    member.type, member.size = tarfile.GNUTYPE_LONGNAME, 2
    (tmp_path / "a.tar").write_bytes((member.tobuf() + b"a\0".ljust(512, b"\0")) * 10_000)
    assert "cut off or damaged" in fault_of(tmp_path / "a.tar").problem


@pytest.mark.parametrize("write", PACKERS)
def test_a_cut_off_archive_is_an_error_wherever_it_was_cut(tmp_path: Path, write: Writer) -> None:
    """No part of an archive passes for the whole."""
    content = noise(3000)
    path = write(tmp_path, {"a.json": content, "b.json": content, "c.json": b"{}"})
    whole = path.read_bytes()
    # The zeros that fill up the end of a tar beyond its two blocks of them say nothing.
    end = len(whole) if write is not as_tar else len(whole.rstrip(b"\0")) + 512
    for size in range(512, end, 97):
        path.write_bytes(whole[:size])
        with pytest.raises(InputError):
            drained(path)


@pytest.mark.parametrize("write", PACKERS)
def test_a_damaged_archive_is_an_error_or_reads_in_full(tmp_path: Path, write: Writer) -> None:
    """Any byte may be wrong: there is an error of the input, or files, but never a traceback."""
    path = write(tmp_path, FILES)
    whole = path.read_bytes()
    chance = random.Random(7)  # noqa: S311 - no secret
    for _ in range(300):
        spoilt = bytearray(whole)
        for _ in range(chance.randint(1, 8)):
            spoilt[chance.randrange(len(spoilt))] = chance.randrange(256)
        path.write_bytes(spoilt)
        with suppress(InputError):
            drained(path)


@given(st.sampled_from([b"PK\x03\x04", b"PK\x05\x06", b"\x1f\x8b\x08", bytes(257) + b"ustar"]), st.binary())
def test_no_bytes_give_a_traceback(
    tmp_path_factory: pytest.TempPathFactory, start: bytes, rest: bytes
) -> None:
    """Whatever follows the first bytes of an archive, it is files or an error of the input."""
    path = tmp_path_factory.mktemp("any") / "a"
    path.write_bytes(start + rest)
    with suppress(InputError):
        drained(path)
