"""Folders and archives from strangers: what comes out, and what is refused."""

import gzip
import os
import stat
import sys
import tarfile
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from auditor.errors import InputError
from auditor.intake.archive import ArchiveKind, archive_kind, read_entries
from tests.intake.packing import (
    FILES,
    PACKERS,
    WRITERS,
    Writer,
    as_folder,
    as_tar,
    as_tar_gz,
    as_zip,
    drained,
    fault_of,
)

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


@pytest.mark.parametrize("write", WRITERS)
def test_files_come_out_as_they_went_in(tmp_path: Path, write: Writer) -> None:
    """A folder, a zip, a tar and a tar.gz of the same files give the same names and bytes."""
    assert dict(read_entries(str(write(tmp_path, FILES)))) == FILES


@pytest.mark.parametrize("write", WRITERS)
def test_only_wanted_files_come_out(tmp_path: Path, write: Writer) -> None:
    """What the caller does not want is not handed out."""
    path = write(tmp_path, FILES)
    assert [name for name, _ in read_entries(str(path), lambda name: name.endswith(".txt"))] == ["b.txt"]


@pytest.mark.parametrize("write", WRITERS)
def test_hidden_files_stay_out(tmp_path: Path, write: Writer) -> None:
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
def test_an_absolute_path_is_refused(tmp_path: Path, write: Writer, name: str) -> None:
    """No entry may name a place of its own, as any system writes it."""
    assert fault_of(write(tmp_path, {name: b"{}"})).problem == "an absolute path in an archive"


@pytest.mark.parametrize("name", ["../a.json", "a/../../b.json", "a/..", "a\\..\\..\\b.json"])
@pytest.mark.parametrize("write", PACKERS)
def test_a_path_that_climbs_out_is_refused(tmp_path: Path, write: Writer, name: str) -> None:
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
def test_nothing_outside_the_source_is_opened(tmp_path: Path, write: Writer) -> None:
    """Only the source itself is opened, by the interpreter's own audit events."""
    path = write(tmp_path, FILES)
    drained(path)  # what the interpreter loads at first use is loaded
    with opened() as seen:
        drained(path)
    assert seen
    assert [one for one in seen if not one.startswith(str(path))] == []


@pytest.mark.parametrize("write", [as_zip, as_tar, as_tar_gz])
@pytest.mark.filterwarnings("ignore:Duplicate name")
def test_a_name_that_stands_twice_is_refused(tmp_path: Path, write: Writer) -> None:
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
