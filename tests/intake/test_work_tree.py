"""Work trees of version control: found upwards from a file, by their mark alone."""

import io
import os
from pathlib import Path

import pytest

from auditor.intake.records import read_records
from auditor.intake.work_tree import MARKS, WorkTrees
from auditor.record.reading import Record
from tests.record.mutations import COMPLIANT


def tree(folder: Path, mark: str = ".git") -> Path:
    """Return a folder two levels below the top of a work tree."""
    (folder / mark).mkdir()
    below = folder / "estate" / "north"
    below.mkdir(parents=True)
    return below


@pytest.mark.parametrize("mark", MARKS)
def test_a_file_below_a_mark_lies_in_a_work_tree(tmp_path: Path, mark: str) -> None:
    """The mark may be any folders above; the folder itself lies there too."""
    file = tree(tmp_path, mark) / "card.json"
    file.touch()
    assert WorkTrees().hold(str(file)) is True
    assert WorkTrees().hold(str(file.parent)) is True


def test_the_mark_may_be_a_file(tmp_path: Path) -> None:
    """A linked work tree has a file for a mark."""
    (tmp_path / ".git").write_text("gitdir: elsewhere", "utf-8")
    (tmp_path / "card.json").touch()
    assert WorkTrees().hold(str(tmp_path / "card.json")) is True


def test_a_file_elsewhere_lies_in_none(tmp_path: Path) -> None:
    """A work tree beside the file is none around it."""
    (tmp_path / "a").mkdir()
    tree(tmp_path / "a")
    (tmp_path / "card.json").touch()
    assert WorkTrees().hold(str(tmp_path / "card.json")) is False


def test_of_a_file_that_is_not_there_nothing_is_known() -> None:
    """A name of no file, or one that can't be a file's, has no place."""
    assert WorkTrees().hold("standard input") is None
    assert WorkTrees().hold("a\0b") is None


def test_a_link_lies_where_it_leads(tmp_path: Path) -> None:
    """What counts is where the content lies."""
    (tmp_path / "a").mkdir()
    file = tree(tmp_path / "a") / "card.json"
    file.touch()
    link = tmp_path / "link.json"
    link.symlink_to(file)
    assert WorkTrees().hold(str(link)) is True


def test_a_record_says_where_it_lies(tmp_path: Path) -> None:
    """By file it is known; by standard input it is not, whatever the working directory."""
    below = tree(tmp_path)
    (below / "card.json").write_bytes(COMPLIANT.read_bytes())
    before = Path.cwd()
    os.chdir(below)
    try:
        by_file, by_stream = (
            next(read_records([path], io.BytesIO(COMPLIANT.read_bytes()))) for path in ("card.json", "-")
        )
    finally:
        os.chdir(before)
    assert isinstance(by_file, Record)
    assert isinstance(by_stream, Record)
    assert (by_file.in_work_tree, by_stream.in_work_tree) == (True, None)
