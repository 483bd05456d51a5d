"""The table of commands: each is made when it is asked for, and all are told of."""

import gc
import sys
from importlib import import_module
from types import ModuleType

import pytest
import typer
from typer.testing import CliRunner

from auditor.cli import commands
from auditor.cli.main import app, run


@pytest.fixture
def imported(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Return the modules of commands that are imported from now on."""
    names: list[str] = []

    def watched(name: str) -> ModuleType:
        names.append(name.removeprefix("auditor.cli."))
        return import_module(name)

    monkeypatch.setattr(commands, "import_module", watched)
    return names


@pytest.mark.parametrize(
    ("arguments", "wanted"),
    [
        (["audit", "--help"], ["audit"]),
        (["import", "--help"], ["import_"]),
        (["rules", "show", "--help"], ["rules"]),
        (["--version"], []),
        (["audt"], []),
    ],
    ids=" ".join,
)
def test_only_the_command_that_is_called_is_imported(
    imported: list[str], arguments: list[str], wanted: list[str]
) -> None:
    """Nobody waits for the modules of other commands, not even who mistypes a name."""
    CliRunner().invoke(app, arguments)
    assert imported == wanted


def test_help_tells_what_every_command_does(imported: list[str]) -> None:
    """A line for each, in the order of the table, with what the table says of it."""
    shown = CliRunner().invoke(app, ["--help"], terminal_width=200).stdout
    group = typer.main.get_command(app)
    made = group.commands  # type: ignore[attr-defined]
    lines = [line.split(maxsplit=1) for line in shown[shown.index("Commands:") :].splitlines()[1:]]
    assert [line[0] for line in lines] == list(made)
    assert all(made[name].name == name and made[name].get_short_help_str(190) == told for name, told in lines)
    assert len(imported) == 2 * len(lines)


def test_help_says_each_command_whole_at_80_columns() -> None:
    """Who looks for a command reads sentences that end, none cut off or wrapped."""
    shown = CliRunner().invoke(app, ["--help"], terminal_width=80).stdout
    lines = shown[shown.index("Commands:") :].splitlines()[1:]
    assert len(lines) == len(typer.main.get_command(app).commands)  # type: ignore[attr-defined]
    assert all(line.endswith(".") and not line.endswith("...") and len(line) <= 79 for line in lines)


def test_completion_knows_the_commands() -> None:
    """The shell offers every command that begins with what was typed."""
    asked = {"_WITNESSMARK_COMPLETE": "complete_bash", "COMP_WORDS": "witnessmark h", "COMP_CWORD": "1"}
    shown = CliRunner().invoke(app, prog_name="witnessmark", env=asked)
    assert shown.stdout.split() == ["handover", "history"]


def test_a_run_ends_without_looking_for_garbage(monkeypatch: pytest.MonkeyPatch) -> None:
    """The process gives everything back at once; looking through it took a tenth of a short run."""
    monkeypatch.setattr(sys, "argv", ["witnessmark", "--version"])
    try:
        with pytest.raises(SystemExit) as ended:
            run()
        assert not gc.isenabled()
    finally:
        gc.enable()
    assert ended.value.code == 0
