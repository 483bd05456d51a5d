"""Folders and archives for tests: the same files packed in every way, and what reading them may cost."""

import gzip
import io
import random
import tarfile
import zipfile
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest

from auditor.errors import Fault, InputError
from auditor.intake.archive import read_entries
from auditor.intake.archive_guard import DEFAULT, ArchiveLimits
from tests.intake.bound import bounded

FILES = {"index.json": b"{}", "Managers/1/index.json": b'{"a": 1}', "b.txt": b"plain", "empty.json": b""}


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


Writer = Callable[[Path, Mapping[str, bytes]], Path]
WRITERS: tuple[Writer, ...] = (as_folder, as_zip, as_tar, as_tar_gz)
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
