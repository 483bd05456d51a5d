"""One behaviour for all commands that write: what is named to be written is made, never a folder above it."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, Final

import pytest
import typer
from typer.testing import CliRunner

from auditor.cli.main import app
from tests.rules.matrix import ROOT

RECORD: Final = str(ROOT / "fixtures/cards/compliant-sealed.json")
AS_OF: Final = ("--as-of", "2026-11-25")

WRITING: Final[Mapping[tuple[str, str], Sequence[str]]] = {
    ("audit", "--output"): ("audit", RECORD, *AS_OF, "--output", "WRITTEN.json"),
    ("sweep", "--output"): ("sweep", RECORD, *AS_OF, "--store", "h.db", "--output", "WRITTEN.json"),
    ("sweep", "--store"): ("sweep", RECORD, *AS_OF, "--store", "WRITTEN.db"),
    ("gate", "--output"): ("gate", RECORD, RECORD, *AS_OF, "--output", "WRITTEN.json"),
    ("mark", "--to"): ("mark", RECORD, "--by", "N. Adeyemi", *AS_OF, "--to", "WRITTEN"),
    ("drift", "--output"): ("drift", RECORD, *AS_OF, "--output", "WRITTEN.json"),
    ("import", "--to"): ("import", RECORD, "--as", "records", "--to", "WRITTEN"),
    ("worksheet", "--output"): ("worksheet", RECORD, "--output", "WRITTEN.html"),
    ("procedure", "--output"): ("procedure", RECORD, *AS_OF, "--output", "WRITTEN.html"),
    ("procedure", "--after"): ("procedure", RECORD, *AS_OF, "--after", "WRITTEN.json"),
    ("handover", "--output"): ("handover", RECORD, *AS_OF, "--output", "WRITTEN"),
    ("seal", "--to"): ("seal", RECORD, "--key", "site.key", "--to", "WRITTEN"),
    ("seal", "--new-key"): ("seal", "--new-key", "WRITTEN.key"),
    ("history", "--output"): ("history", "--store", "h.db", *AS_OF, "--output", "WRITTEN.html"),
    ("history merge", "--to"): ("history", "merge", "h.db", "--to", "WRITTEN.db"),
    ("capture", "record"): ("capture", "WRITTEN.json"),
}
"""By command and option, or argument: a call that writes there, with a place in it for the path."""

READ_ONLY: Final = {("history", "--store")}
"""Options whose names say elsewhere that they are written to."""


def _written_options() -> set[tuple[str, str]]:
    """Return what commands have that by its name is written to; ``capture`` alone writes to an argument."""
    found = set(_below(typer.main.get_command(app), ()))
    return (found - READ_ONLY) | {("capture", "record")}


def _below(command: Any, words: tuple[str, ...]) -> Sequence[tuple[str, str]]:
    names = {"--output", "--to", "--after", "--store", "--new-key"}
    mine = [(" ".join(words), name) for each in command.params for name in each.opts if name in names]
    inner = getattr(command, "commands", {})
    return [*mine, *(pair for name, each in inner.items() for pair in _below(each, (*words, name)))]


@pytest.fixture(autouse=True)
def _prepared(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Run beside a history, a key, and marks."""
    monkeypatch.chdir(tmp_path)
    for before in (
        ("sweep", RECORD, *AS_OF, "--store", "h.db", "--quiet"),
        ("seal", "--new-key", "site.key"),
        ("mark", RECORD, "--by", "N. Adeyemi", *AS_OF),
    ):
        assert CliRunner().invoke(app, before).exit_code == 0


def test_every_option_that_is_written_to_is_tried() -> None:
    """One that is added has no row here, and fails this test."""
    assert set(WRITING) == _written_options()


@pytest.mark.parametrize(("command", "option"), WRITING)
def test_a_missing_folder_is_named_and_never_made(command: str, option: str, tmp_path: Path) -> None:
    """Exit code 2, the folder that is missing, what to do; nothing is left of it."""
    place = Path("no/such")
    words = [word.replace("WRITTEN", str(place / "written")) for word in WRITING[command, option]]
    result = CliRunner().invoke(app, words)
    assert (result.exit_code, result.stdout) == (2, "")
    assert f"there is no folder {place}\n  Make the folder first, or correct the path." in result.stderr
    assert not (tmp_path / "no").exists()


@pytest.mark.parametrize(("command", "option"), WRITING)
def test_what_is_named_is_made(command: str, option: str, tmp_path: Path) -> None:
    """A file, or a folder, beside which nothing else is missing."""
    words = [word.replace("WRITTEN", "written") for word in WRITING[command, option]]
    result = CliRunner().invoke(app, words, input="stop\n")
    assert result.exit_code in (0, 1), result.output
    assert any(each.name.startswith("written") for each in tmp_path.iterdir())
