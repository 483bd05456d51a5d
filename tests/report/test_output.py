"""A report appears whole and under its name, or not at all."""

import errno
import os
import stat
from pathlib import Path
from typing import BinaryIO

import pytest

from auditor.errors import OutputError
from auditor.report.output import open_output

AS_ROOT = os.geteuid() == 0


def test_a_report_appears_when_it_is_complete(tmp_path: Path) -> None:
    """Until the block ends there is no file of that name; then there is, and nothing else."""
    target = tmp_path / "report.json"
    with open_output(target) as stream:
        stream.write(b"one")
        stream.flush()
        assert not target.exists()
    assert target.read_bytes() == b"one"
    assert list(tmp_path.iterdir()) == [target]


def _write_and_fail(stream: BinaryIO, error: type[BaseException]) -> None:
    stream.write(b"half")
    raise error


@pytest.mark.parametrize("error", [ValueError, KeyboardInterrupt])
def test_a_report_that_fails_leaves_no_trace(tmp_path: Path, error: type[BaseException]) -> None:
    """An error inside the block, an interrupt too, leaves the old report and no other file."""
    target = tmp_path / "report.json"
    target.write_bytes(b"old")
    with pytest.raises(error), open_output(target) as stream:
        _write_and_fail(stream, error)
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_a_report_keeps_the_permissions_of_the_one_it_replaces(tmp_path: Path) -> None:
    """A report that only its owner could read stays so; while it is written, too."""
    target = tmp_path / "report.json"
    target.write_bytes(b"old")
    target.chmod(0o600)
    with open_output(target) as stream:
        stream.write(b"new")
        part = next(path for path in tmp_path.iterdir() if path != target)
        assert stat.S_IMODE(part.stat().st_mode) == 0o600
    assert stat.S_IMODE(target.stat().st_mode) == 0o600
    target.chmod(0o664)
    with open_output(target) as stream:
        stream.write(b"newer")
    assert stat.S_IMODE(target.stat().st_mode) == 0o664


def test_a_new_report_obeys_the_mask_of_the_process(tmp_path: Path) -> None:
    """A new report is as readable as any other new file."""
    before = os.umask(0o027)
    try:
        with open_output(tmp_path / "report.json"):
            pass
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / "report.json").stat().st_mode) == 0o640


def test_a_new_file_may_be_its_owner_s_alone(tmp_path: Path) -> None:
    """Nobody else may read it, while it is written neither."""
    with open_output(tmp_path / "record.json", owner_only=True):
        part = next(tmp_path.iterdir())
        assert stat.S_IMODE(part.stat().st_mode) == 0o600
    assert stat.S_IMODE((tmp_path / "record.json").stat().st_mode) == 0o600


def test_a_link_is_followed(tmp_path: Path) -> None:
    """The report goes where the link points; the link stays a link."""
    (tmp_path / "real").mkdir()
    link = tmp_path / "latest.json"
    link.symlink_to("real/report.json")
    with open_output(link) as stream:
        stream.write(b"x")
    assert link.is_symlink()
    assert (tmp_path / "real/report.json").read_bytes() == b"x"


def test_a_device_is_written_to_directly() -> None:
    """What is no ordinary file can't be replaced by one."""
    with open_output(os.devnull) as stream:
        stream.write(b"x")
    assert not Path(os.devnull).is_file()


def _refusal(path: Path) -> OutputError:
    with pytest.raises(OutputError) as found, open_output(path):
        pass
    return found.value


def test_a_missing_folder_is_named_as_such(tmp_path: Path) -> None:
    """The fault says what is wrong and what to do."""
    fault = _refusal(tmp_path / "none/report.json")
    assert (fault.problem, fault.remedy) == (
        f"there is no folder {tmp_path / 'none'}",
        "Make the folder first, or correct the path.",
    )
    assert fault.file == str(tmp_path / "none/report.json")


def test_a_folder_is_no_report(tmp_path: Path) -> None:
    """A folder can't be replaced by a report."""
    assert _refusal(tmp_path).problem == "this is a folder"


def test_a_file_on_the_way_is_no_folder(tmp_path: Path) -> None:
    """A path through a file is refused."""
    (tmp_path / "file").write_bytes(b"")
    assert "not a folder" in _refusal(tmp_path / "file/report.json").problem


def test_a_name_can_be_too_long(tmp_path: Path) -> None:
    """A name longer than the file system takes is refused, and nothing is left behind."""
    assert _refusal(tmp_path / ("x" * 300)).problem == "the name is too long"
    assert list(tmp_path.iterdir()) == []


@pytest.mark.skipif(AS_ROOT, reason="the superuser may write everywhere")
def test_a_report_without_permission_is_refused(tmp_path: Path) -> None:
    """Neither a folder nor an old report that may not be written to is touched."""
    target = tmp_path / "report.json"
    target.write_bytes(b"old")
    target.chmod(0o400)
    assert "no permission" in _refusal(target).problem
    tmp_path.chmod(0o500)
    assert "no permission" in _refusal(tmp_path / "other.json").problem
    tmp_path.chmod(0o700)
    assert target.read_bytes() == b"old"


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs the full device of Linux")
def test_a_full_disk_is_worded() -> None:
    """A write that fails for want of room says so, also where it fails only when the buffer goes out."""
    with pytest.raises(OutputError) as found, open_output("/dev/full") as stream:
        stream.write(b"x")
    assert found.value.problem == "the disk is full"


def test_a_disk_that_fills_up_leaves_nothing_half_written(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Where a write fails half-way the old report stays and the part goes."""

    def no_room(_: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    target = tmp_path / "report.json"
    target.write_bytes(b"old")
    monkeypatch.setattr(os, "fsync", no_room)
    with pytest.raises(OutputError), open_output(target) as stream:
        stream.write(b"new")
    assert target.read_bytes() == b"old"
    assert list(tmp_path.iterdir()) == [target]


def test_another_fault_inside_the_block_is_not_taken_for_one_of_writing(tmp_path: Path) -> None:
    """A file that could not be read while a report was written is not a fault of the report."""
    with pytest.raises(FileNotFoundError), open_output(tmp_path / "report.json"):
        (tmp_path / "record.json").read_bytes()
