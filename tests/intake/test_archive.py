"""Folders and archives from strangers: what comes out, what is refused, and what it may cost."""

import gzip
import io
import os
import random
import stat
import struct
import sys
import tarfile
import zipfile
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager, suppress
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.errors import Fault, InputError
from auditor.intake.archive import ArchiveKind, archive_kind, read_entries
from auditor.intake.archive_guard import DEFAULT, ArchiveLimits
from tests.intake.bound import bounded

MEBIBYTE = 1024 * 1024
FILES = {"index.json": b"{}", "Managers/1/index.json": b'{"a": 1}', "b.txt": b"plain", "empty.json": b""}
FEW = ArchiveLimits(entries=100, entry_bytes=64 * 1024, total_bytes=256 * 1024, free_bytes=16 * 1024)

_opened: list[str] = []
_watching: list[bool] = []


def _note(event: str, arguments: tuple[object, ...]) -> None:
    if _watching and event in ("open", "os.scandir", "os.listdir"):
        _opened.append(str(arguments[0]))


sys.addaudithook(_note)


@contextmanager
def opened() -> Iterator[list[str]]:
    """Give the list of the files and folders that are opened inside."""
    _opened.clear()
    _watching.append(True)
    try:
        yield _opened
    finally:
        _watching.clear()


def as_folder(folder: Path, files: Mapping[str, bytes]) -> Path:
    """Write files below a folder."""
    for name, content in files.items():
        path = folder / "capture" / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(content)
    return folder / "capture"


def as_zip(folder: Path, files: Mapping[str, bytes]) -> Path:
    """Write files into a zip archive."""
    with zipfile.ZipFile(folder / "capture.zip", "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in files.items():
            archive.writestr(name, content)
    return folder / "capture.zip"


def _tar(files: Mapping[str, bytes]) -> bytes:
    target = io.BytesIO()
    with tarfile.open(fileobj=target, mode="w") as archive:
        for name, content in files.items():
            member = tarfile.TarInfo(name)
            member.size = len(content)
            archive.addfile(member, io.BytesIO(content))
    return target.getvalue()


def as_tar(folder: Path, files: Mapping[str, bytes]) -> Path:
    """Write files into a tar archive."""
    (folder / "capture.tar").write_bytes(_tar(files))
    return folder / "capture.tar"


def as_tar_gz(folder: Path, files: Mapping[str, bytes]) -> Path:
    """Write files into a tar archive packed with gzip."""
    (folder / "capture.tar.gz").write_bytes(gzip.compress(_tar(files)))
    return folder / "capture.tar.gz"


WRITERS: tuple[Callable[[Path, Mapping[str, bytes]], Path], ...] = (as_folder, as_zip, as_tar, as_tar_gz)
PACKERS = WRITERS[1:]


def noise(size: int) -> bytes:
    """Return bytes that nothing packs, the same each time."""
    return random.Random(1).randbytes(size)  # noqa: S311 - no secret


def drained(path: Path, limits: ArchiveLimits = DEFAULT) -> int:
    """Read everything, keep nothing, and return the number of files."""
    return sum(1 for _ in read_entries(str(path), limits=limits))


def fault_of(path: Path, limits: ArchiveLimits = DEFAULT) -> Fault:
    """Return the only fault of an archive, having read it within a bound of time and memory."""
    with bounded(seconds=20, mebibytes=48), pytest.raises(InputError) as caught:
        drained(path, limits)
    [fault] = caught.value.faults
    assert fault.file.startswith(str(path))
    assert fault.remedy
    return fault


@pytest.mark.parametrize("write", WRITERS)
def test_files_come_out_as_they_went_in(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
    """A folder, a zip, a tar and a tar.gz of the same files give the same names and bytes."""
    assert dict(read_entries(str(write(tmp_path, FILES)))) == FILES


@pytest.mark.parametrize("write", WRITERS)
def test_only_wanted_files_come_out(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
    """What the caller does not want is not handed out."""
    path = write(tmp_path, FILES)
    assert [name for name, _ in read_entries(str(path), lambda name: name.endswith(".txt"))] == ["b.txt"]


@pytest.mark.parametrize("write", WRITERS)
def test_hidden_files_stay_out(tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]) -> None:
    """What systems add by themselves is no part of a capture, however it is packed."""
    extra = {".git/index.json": b"x", "__MACOSX/._index.json": b"x", "a/.hidden.json": b"x"}
    assert dict(read_entries(str(write(tmp_path, {**extra, **FILES})))) == FILES


def test_kinds_are_told_by_content_not_by_name(tmp_path: Path) -> None:
    """A name may say anything; the first bytes count."""
    kinds = [ArchiveKind.FOLDER, ArchiveKind.ZIP, ArchiveKind.TAR, ArchiveKind.GZIP]
    for write, kind in zip(WRITERS, kinds, strict=True):
        path = write(tmp_path, FILES)
        renamed = path if kind is ArchiveKind.FOLDER else path.rename(tmp_path / f"{kind.value}.json")
        assert archive_kind(str(renamed)) is kind
    (tmp_path / "plain.zip").write_bytes(b"{}")
    assert archive_kind(str(tmp_path / "plain.zip")) is None
    assert archive_kind(str(tmp_path / "missing.zip")) is None


def test_a_missing_path_is_one_clear_error(tmp_path: Path) -> None:
    """A path to nothing is said to be one."""
    assert "no such file" in fault_of(tmp_path / "missing.zip").problem


def test_a_path_that_no_name_can_be_is_an_error(tmp_path: Path) -> None:
    """A NUL in a path is refused as an error of the input."""
    with pytest.raises(InputError):
        drained(tmp_path / "a\0b")


def test_a_plain_file_is_no_archive(tmp_path: Path) -> None:
    """A text is neither a folder nor an archive, and is said to be none."""
    (tmp_path / "a.zip").write_bytes(b"hello")
    assert fault_of(tmp_path / "a.zip").problem == "neither a folder nor an archive"


@pytest.mark.parametrize(
    "name", ["/etc/passwd", "//host/a.json", "C:/a.json", "C:\\a.json", "\\\\host\\a.json"]
)
@pytest.mark.parametrize("write", PACKERS)
def test_an_absolute_path_is_refused(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path], name: str
) -> None:
    """No entry may name a place of its own, as any system writes it."""
    assert fault_of(write(tmp_path, {name: b"{}"})).problem == "an absolute path in an archive"


@pytest.mark.parametrize("name", ["../a.json", "a/../../b.json", "a/..", "a\\..\\..\\b.json"])
@pytest.mark.parametrize("write", PACKERS)
def test_a_path_that_climbs_out_is_refused(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path], name: str
) -> None:
    """No entry may climb out of the archive."""
    assert fault_of(write(tmp_path, {name: b"{}"})).problem == "a path with .. in an archive"


@pytest.mark.parametrize(
    "kind", [tarfile.SYMTYPE, tarfile.LNKTYPE, tarfile.CHRTYPE, tarfile.BLKTYPE, tarfile.FIFOTYPE]
)
def test_a_link_or_a_device_in_a_tar_is_refused(tmp_path: Path, kind: bytes) -> None:
    """A tar may hold nothing but files and folders."""
    with tarfile.open(tmp_path / "a.tar", "w") as archive:
        member = tarfile.TarInfo("a.json")
        member.type, member.linkname = kind, "/etc/hostname"
        archive.addfile(member)
    assert fault_of(tmp_path / "a.tar").problem.startswith("a link, a device")


def test_a_sparse_file_in_a_tar_is_refused(tmp_path: Path) -> None:
    """A file of a thousand gigabytes of nothing is refused before anything is made of it."""
    with tarfile.open(tmp_path / "a.tar", "w", format=tarfile.PAX_FORMAT) as archive:
        member = tarfile.TarInfo("a.json")
        member.pax_headers = {
            "GNU.sparse.major": "0", "GNU.sparse.minor": "1",
            "GNU.sparse.size": str(10**12), "GNU.sparse.map": f"0,0,{10**12},0",
        }  # fmt: skip
        archive.addfile(member)
    assert "sparse" in fault_of(tmp_path / "a.tar").problem


@pytest.mark.parametrize("mode", [stat.S_IFLNK, stat.S_IFCHR, stat.S_IFBLK, stat.S_IFIFO, stat.S_IFSOCK])
def test_a_link_or_a_device_in_a_zip_is_refused(tmp_path: Path, mode: int) -> None:
    """A zip may hold nothing but files and folders."""
    info = zipfile.ZipInfo("a.json")
    info.external_attr = (mode | 0o644) << 16
    with zipfile.ZipFile(tmp_path / "a.zip", "w") as archive:
        archive.writestr(info, "/etc/hostname")
    assert fault_of(tmp_path / "a.zip").problem == "a link or a device in an archive"


def test_a_link_in_a_folder_is_refused_and_not_followed(tmp_path: Path) -> None:
    """Nothing outside the folder is opened, whatever a link in it points at."""
    (tmp_path / "secret.json").write_bytes(b"{}")
    folder = as_folder(tmp_path, FILES)
    (folder / "z.json").symlink_to(tmp_path / "secret.json")
    with opened() as seen, pytest.raises(InputError, match="a link or a device"):
        drained(folder)
    assert [path for path in seen if path.startswith(str(tmp_path)) and "capture" not in path] == []


def test_a_linked_folder_in_a_folder_is_refused(tmp_path: Path) -> None:
    """A loop of links can't send the reading in circles."""
    folder = as_folder(tmp_path, FILES)
    (folder / "again").symlink_to(folder)
    assert "a link" in fault_of(folder).problem


def test_a_pipe_in_a_folder_is_refused_without_waiting(tmp_path: Path) -> None:
    """A pipe that nobody writes to does not hold the reading up."""
    folder = as_folder(tmp_path, FILES)
    os.mkfifo(folder / "pipe.json")
    assert "a device" in fault_of(folder).problem


@pytest.mark.parametrize("write", WRITERS)
def test_nothing_outside_the_source_is_opened(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
    """Only the source itself is opened, by the interpreter's own audit events."""
    path = write(tmp_path, FILES)
    drained(path)  # what the interpreter loads at first use is loaded
    with opened() as seen:
        drained(path)
    assert seen
    assert [one for one in seen if not one.startswith(str(path))] == []


@pytest.mark.parametrize("write", PACKERS)
def test_a_bomb_is_refused(tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]) -> None:
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
def test_a_bomb_in_an_unwanted_file_is_refused_or_never_unpacked(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
    """A tar has to be read through what nobody wants; that costs no more than what is wanted."""
    bomb = write(tmp_path, {"a.bin": bytes(15 * MEBIBYTE), "b.json": b"{}"})
    with bounded(seconds=20, mebibytes=48), suppress(InputError):
        list(read_entries(str(bomb), lambda name: name.endswith(".json")))


@pytest.mark.parametrize("write", WRITERS)
def test_a_file_too_large_is_refused(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
    """One file may not be larger than the limit."""
    large = noise(FEW.entry_bytes + 1)
    fault = fault_of(write(tmp_path, {"a.json": large}), FEW)
    assert fault.file.endswith("a.json")
    assert "the most for one file" in fault.problem


@pytest.mark.parametrize("write", WRITERS)
def test_too_much_in_all_is_refused(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
    """Many files, each allowed, may not be too much together."""
    part = noise(FEW.entry_bytes - 1)
    many = {f"{number}.json": part for number in range(6)}
    assert "bytes unpacked" in fault_of(write(tmp_path, many), FEW).problem


@pytest.mark.parametrize("write", WRITERS)
def test_thousands_of_entries_are_refused(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
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
def test_a_cut_off_archive_is_an_error_wherever_it_was_cut(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
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
def test_a_damaged_archive_is_an_error_or_reads_in_full(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
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


@pytest.mark.parametrize("write", [as_zip, as_tar, as_tar_gz])
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_stands_twice_is_refused(
    tmp_path: Path, write: Callable[[Path, Mapping[str, bytes]], Path]
) -> None:
    """Two entries of one name, also if written in two ways, are not silently one."""
    twice = write(tmp_path, {"a/b.json": b"{}", "a/./b.json": b"[]"})
    assert fault_of(twice).problem == "this name stands twice in the archive"


def test_an_encrypted_zip_is_refused_with_what_to_do(tmp_path: Path) -> None:
    """A password is never asked for."""
    path = as_zip(tmp_path, {"a.json": b"{}"})
    text = bytearray(path.read_bytes())
    text[6] |= 1
    text[text.index(b"PK\x01\x02") + 8] |= 1
    path.write_bytes(text)
    assert fault_of(path).problem == "encrypted"


def test_a_zip_packed_in_another_way_is_refused(tmp_path: Path) -> None:
    """Only deflate has a bound on what it may need to unpack."""
    with zipfile.ZipFile(tmp_path / "a.zip", "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("a.json", b"{}")
    assert "deflate" in fault_of(tmp_path / "a.zip").problem


def test_gzip_of_something_else_is_no_tar(tmp_path: Path) -> None:
    """A packed text is not taken for an archive of it."""
    (tmp_path / "a.json.gz").write_bytes(gzip.compress(b"{}" * 1000))
    assert fault_of(tmp_path / "a.json.gz").problem.startswith("no tar archive")


def test_a_folder_that_can_not_be_read_is_an_error(tmp_path: Path) -> None:
    """A folder shut to us is said to be so, not taken for empty."""
    folder = as_folder(tmp_path, FILES)
    (folder / "Managers").chmod(0)
    try:
        if os.access(folder / "Managers", os.R_OK):
            pytest.skip("this user may read everything")
        assert "can't be read" in fault_of(tmp_path / "capture").problem
    finally:
        (folder / "Managers").chmod(0o755)


def test_a_name_of_any_bytes_can_be_shown(tmp_path: Path) -> None:
    """A name that is no text of any encoding still stands in the error, as text."""
    text = tarfile.TarInfo("xy").tobuf().replace(b"xy", b"/\xff", 1)
    checksum = 256 + sum(text[:148]) + sum(text[156:512])
    (tmp_path / "a.tar").write_bytes(text[:148] + b"%06o\0 " % checksum + text[156:] + bytes(1024))
    assert fault_of(tmp_path / "a.tar").file.endswith("/\\xff")
