"""Standard output that fails: a reader that went away is no fault, a full disk is one in words."""

import io
import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from auditor.cli.main import app
from auditor.cli.standard_output import show
from auditor.errors import OutputError
from tests.cli.test_audit import AS_OF, telnet

needs_full_disk = pytest.mark.skipif(not Path("/dev/full").exists(), reason="no /dev/full here")


@contextmanager
def reader_gone(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Make standard output a pipe whose reader has gone."""
    reading, writing = os.pipe()
    os.close(reading)
    with io.TextIOWrapper(os.fdopen(writing, "wb")) as stream:
        monkeypatch.setattr(sys, "stdout", stream)
        yield


@contextmanager
def disk_full(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Make standard output a file on a full disk."""
    with io.TextIOWrapper(Path("/dev/full").open("wb")) as stream:
        monkeypatch.setattr(sys, "stdout", stream)
        yield


def code_of(*arguments: str) -> object:
    """Run the command with standard output as it is, and return its exit code."""
    with pytest.raises(SystemExit) as end:
        app(list(arguments))
    return end.value.code


@pytest.mark.parametrize("name", ["table", "ndjson"])
def test_a_reader_that_went_away_changes_no_verdict(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    """The card is held as without a pipe, and the other report is written whole."""
    card, other = telnet(tmp_path), tmp_path / "report.html"
    outputs = ("--format", name, "--output", "-", "--output", str(other))
    with reader_gone(monkeypatch):
        assert code_of("audit", str(card), *outputs, *AS_OF) == 1
    assert other.read_text("utf-8").rstrip().endswith("</html>")


@needs_full_disk
def test_a_full_disk_on_standard_output_is_worded(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Exit code 2 and what to do; the other report is written all the same."""
    card, other = telnet(tmp_path), tmp_path / "report.html"
    with disk_full(monkeypatch):
        outputs = ("--format", "json", "--output", "-", "--output", str(other))
        assert code_of("audit", str(card), *outputs, *AS_OF) == 2
    assert capsys.readouterr().err == (
        "standard output: the disk is full\n  Make room, or choose another disk.\n"
    )
    assert other.stat().st_size > 0


@needs_full_disk
@pytest.mark.parametrize("arguments", [("rules",), ("worksheet",), ("import", "--template", "sheet")])
def test_every_command_words_a_full_disk(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], arguments: tuple[str, ...]
) -> None:
    """What prints text fails as an audit does: exit code 2."""
    with disk_full(monkeypatch):
        assert code_of(*arguments) == 2
    assert "the disk is full" in capsys.readouterr().err


def test_a_closed_standard_output_is_worded(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the system gave none, that is said."""
    monkeypatch.setattr(sys, "stdout", None)
    with pytest.raises(OutputError, match="it is closed"):
        show("x")
