"""The public door: what is exported, and README's examples as a reader would run them."""

import re
from pathlib import Path
from types import ModuleType

import pytest

import auditor
from auditor.fleet.choices import load_program
from tests.rules.matrix import ROOT

README = (ROOT / "README.md").read_text("utf-8")


def blocks(language: str) -> list[str]:
    """Return the code blocks of README in a language."""
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def test_every_public_name_is_exported() -> None:
    """What the package imports by name is what it exports; ruff keeps the list in order."""
    modules = {name for name, value in vars(auditor).items() if isinstance(value, ModuleType)}
    public = {name for name in vars(auditor) if not name.startswith("_")} - modules
    assert public | {"__version__"} == set(auditor.__all__)


def test_the_example_in_readme_runs(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """The five lines of Python in README run as they stand and print every usable demo card."""
    monkeypatch.chdir(ROOT)
    (example,) = blocks("python")
    exec(example, {})  # noqa: S102 - the project's own README
    assert len(capsys.readouterr().out.splitlines()) == 23  # 24 cards, one malformed on purpose


def test_the_site_file_in_readme_is_good(tmp_path: Path) -> None:
    """The witnessmark.toml shown in README loads: its parameters and rules exist."""
    (example,) = blocks("toml")
    path = tmp_path / "witnessmark.toml"
    path.write_text(example, "utf-8")
    program = load_program(site=str(path))
    assert len(program.tailoring.rules) == 1
    assert program.tailoring.operator == "Example Water"


def test_readme_states_its_two_commands() -> None:
    """The audit of the demo estate and the tests are one line each, set-up included."""
    lines = [line for block in blocks("sh") for line in block.splitlines()]
    set_up = [line for line in lines if line.startswith("python3 -m venv .venv && ")]
    assert len(set_up) == 2
