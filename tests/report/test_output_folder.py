"""Folders of pages: whole under their name, or not there; and what is never replaced."""

import os
from pathlib import Path
from typing import Final

import pytest

from auditor.errors import OutputError
from auditor.report.output_folder import check_folder, write_folder

FILES: Final = {"index.html": b"new", "marks.html": b"new"}
FORMER: Final = {"index.html": b"former", "report.html": b"former"}


def is_ours(name: str) -> bool:
    """Tell as a pack would whether a file may be replaced."""
    return name.endswith(".html")


def write(path: str, files: dict[str, bytes], *, replace: bool = False) -> None:
    """Write a folder."""
    write_folder(path, files, is_ours, replace=replace)


def held(path: str) -> dict[str, bytes]:
    """Return what lies in a folder, hidden files too."""
    return {name: Path(path, name).read_bytes() for name in os.listdir(path)}  # noqa: PTH208 - names only


@pytest.fixture(autouse=True)
def _here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Run in a folder of its own."""
    monkeypatch.chdir(tmp_path)


def left() -> list[str]:
    """Return the names in the folder that the test runs in."""
    return sorted(os.listdir("."))  # noqa: PTH208 - names only


def test_a_folder_is_written_whole() -> None:
    """Nothing else stays beside it."""
    write("pack", FILES)
    assert held("pack") == FILES
    assert left() == ["pack"]


def test_a_folder_above_it_that_is_missing_is_not_made() -> None:
    """It is named, before any page is made and when they are written."""
    with pytest.raises(OutputError, match="there is no folder visits"):
        check_folder("visits/pack", is_ours, replace=False)
    with pytest.raises(OutputError, match="there is no folder visits"):
        write("visits/pack", FILES)
    assert left() == []


def test_an_empty_folder_is_filled() -> None:
    """Nothing in it could be lost."""
    Path("pack").mkdir()
    write("pack", FILES)
    assert held("pack") == FILES


def test_a_folder_that_is_replaced_keeps_nothing_of_the_former() -> None:
    """Pages that are no longer written are gone."""
    write("pack", FORMER)
    write("pack", FILES, replace=True)
    assert held("pack") == FILES
    assert left() == ["pack"]


def test_a_folder_with_pages_stays_unless_it_is_to_be_replaced() -> None:
    """The error says how."""
    write("pack", FORMER)
    with pytest.raises(OutputError, match="--replace"):
        write("pack", FILES)
    assert held("pack") == FORMER


@pytest.mark.parametrize("other", ["photo.jpg", "folder.html", "link.html"])
def test_a_folder_with_something_else_in_it_is_never_replaced(other: str) -> None:
    """Only what a run wrote is deleted: no other file, no folder, nothing behind a link."""
    write("pack", FORMER)
    there = Path("pack", other)
    if other == "link.html":
        there.symlink_to("index.html")
    elif other == "folder.html":
        there.mkdir()
    else:
        there.write_bytes(b"")
    with pytest.raises(OutputError, match=other):
        write("pack", FILES, replace=True)
    assert Path("pack", "index.html").read_bytes() == b"former"
    assert os.path.lexists(there)


@pytest.mark.parametrize("path", [".", "..", "/"])
def test_the_folder_that_one_is_in_is_refused(path: str) -> None:
    """As is any above it: it can't change its name under somebody's feet."""
    with pytest.raises(OutputError, match="you are in this folder"):
        check_folder(path, is_ours, replace=True)


def test_a_file_is_refused() -> None:
    """It is no folder, and stays what it was."""
    Path("pack").write_bytes(b"mine")
    with pytest.raises(OutputError, match="this is a file"):
        write("pack", FILES, replace=True)
    assert Path("pack").read_bytes() == b"mine"


def test_a_link_to_a_folder_is_followed() -> None:
    """The link stays a link."""
    Path("there").mkdir()
    write("there/pack", FORMER)
    Path("link").symlink_to("there/pack")
    write("link", FILES, replace=True)
    assert Path("link").is_symlink()
    assert held("there/pack") == FILES


@pytest.mark.parametrize("kind", [OSError, KeyboardInterrupt])
def test_what_breaks_off_leaves_nothing_behind(
    monkeypatch: pytest.MonkeyPatch, kind: type[BaseException]
) -> None:
    """No part of the new folder; a former one is as it was."""
    Path("former").mkdir()
    write("former/pack", FORMER)

    def breaks_off(_: int) -> None:
        raise kind(28, "No space left on device")

    monkeypatch.setattr("os.fsync", breaks_off)
    expected = OutputError if kind is OSError else kind
    for path in ("new", "former/pack"):
        with pytest.raises(expected):
            write(path, FILES, replace=True)
    assert left() == ["former"]
    assert os.listdir("former") == ["pack"]  # noqa: PTH208 - names only
    assert held("former/pack") == FORMER


def test_a_folder_that_cant_take_its_name_leaves_the_former_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """If the last rename fails, the former folder gets its name back."""
    write("pack", FORMER)
    rename = Path.rename

    def fails(self: Path, target: Path) -> Path:
        if self.suffix == ".part":
            raise OSError(13, "Permission denied")
        return rename(self, target)

    monkeypatch.setattr(Path, "rename", fails)
    with pytest.raises(OutputError, match="no permission"):
        write("pack", FILES, replace=True)
    assert held("pack") == FORMER
    assert left() == ["pack"]
