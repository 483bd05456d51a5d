"""The hooks that this repository offers to repositories of records: each is a command that there is."""

import re
from pathlib import Path
from typing import Final

import pytest
import typer
from typer.testing import CliRunner

from auditor.cli.main import app
from tests.intake.git_repository import commit, needs_git, repository
from tests.rules.matrix import AS_OF, ROOT

TEXT: Final = (ROOT / ".pre-commit-hooks.yaml").read_text("utf-8")
README: Final = (ROOT / "README.md").read_text("utf-8")
HOOKS: Final = [
    dict(re.findall(r"(\w+): (.+)", part)) for part in re.split(r"^- ", TEXT, flags=re.MULTILINE)[1:]
]


@pytest.mark.parametrize("hook", HOOKS, ids=lambda hook: hook["id"])
def test_a_hook_is_a_command_that_there_is(hook: dict[str, str]) -> None:
    """Its entry names one of our commands, and options that this has; what is missing are the files."""
    program, command, *options = hook["entry"].split()
    assert program == "witnessmark"
    known = typer.main.get_command(app).commands[command]  # type: ignore[attr-defined]
    names = {name for each in known.params for name in each.opts}
    assert {option for option in options if option.startswith("--")} <= names
    assert CliRunner().invoke(app, [command, *options]).exit_code == 2


@pytest.mark.parametrize(
    ("name", "fits"),
    [
        ("records/a.json", True), ("records/süd höhe/b.ndjson", True), ("c.json.gz", True),
        ("records/card-1.schema.json", False), ("notes.md", False), ("a.json.bak", False),
    ],
)  # fmt: skip
def test_hooks_are_for_files_of_records(name: str, *, fits: bool) -> None:
    """By the pattern of every hook, and without what it leaves out; both are searched, as pre-commit does."""
    for files, exclude in zip(
        re.findall(r"files: (.+)", TEXT), re.findall(r"exclude: (.+)", TEXT), strict=True
    ):
        assert (bool(re.search(files, name)) and not re.search(exclude, name)) is fits


@needs_git
def test_the_gate_is_given_the_folder_and_not_the_files(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Files that are gone are not among those that a hook is given: a card that goes must hold all the same.

    Before the first commit nothing was there, and a card that is good passes.
    """
    hook = next(each for each in HOOKS if each["id"] == "witnessmark-gate")
    assert (hook["pass_filenames"], hook["always_run"], hook["args"]) == ("false", "true", "[.]")
    words = [*hook["entry"].split()[1:], "."]
    top = repository(tmp_path / "clone")
    monkeypatch.chdir(top)
    record = (ROOT / "fixtures/cards/compliant-sealed.json").read_bytes()
    (top / "a.json").write_bytes(record)
    first = CliRunner().invoke(app, [*words, "--as-of", AS_OF.isoformat()])
    assert (first.exit_code, "added" in first.stdout) == (0, True)
    commit(top)
    (top / "a.json").unlink()
    assert CliRunner().invoke(app, words).exit_code == 1


def test_readme_names_every_hook() -> None:
    """And no other."""
    ids = set(re.findall(r"^- id: (\S+)", TEXT, re.MULTILINE))
    assert ids == {"witnessmark-seal-check", "witnessmark-gate", "witnessmark-audit"}
    assert set(re.findall(r"witnessmark-[a-z-]+(?=`)|(?<=- id: )\S+", README)) >= ids
