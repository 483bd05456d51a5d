"""README stays true: its commands, its Python and its site file are run as a reader would run them."""

import re
import shlex
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Final

import pytest
from typer.testing import CliRunner, Result

from auditor.change.deviation_file import read_deviations
from auditor.change.gate import Cause
from auditor.cli.main import app
from auditor.cli.terminal import ExitCode
from auditor.fleet.choices import load_program
from tests.rules.matrix import ROOT

README: Final = (ROOT / "README.md").read_text("utf-8")
SET_UP: Final = "python3 -m venv .venv && "
FAULTS: Final = re.compile(r"^(?:Usage|A fault|[^ ]+: can't|fixtures/[^ ]+:\d).*", re.MULTILINE)
MALFORMED: Final = "fixtures/estate/saddler-street/sds-ups-hall-3.json:"


def blocks(language: str) -> list[str]:
    """Return the code blocks of README in a language."""
    return re.findall(rf"```{language}\n(.*?)```", README, re.DOTALL)


def commands() -> Iterator[list[str]]:
    """Yield the words of every command of ours in README, in its order."""
    for block in blocks("sh"):
        for line in block.replace("\\\n", "").splitlines():
            *_, own = line.split(" && ")
            yield shlex.split(own.removeprefix(".venv/bin/"))


@pytest.fixture
def clone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Go to a copy of what the commands of README read, to which they may write."""
    shutil.copytree(ROOT / "fixtures", tmp_path / "fixtures")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run(words: list[str]) -> Result:
    """Run a command as a shell would: patterns become files, ``>`` sends the output to one."""
    words, _, target = (words[: words.index(">")], ">", words[-1]) if ">" in words else (words, "", "")
    arguments = [
        part
        for word in words[1:]
        for part in (sorted(map(str, Path().glob(word))) if "*" in word else [word])
    ]
    result = CliRunner().invoke(app, arguments, input="stop\n")
    if target:
        Path(target).write_text(result.stdout, "utf-8")
    return result


def test_every_command_in_readme_runs(clone: Path) -> None:
    """In order, from the root of a clone: none is refused, and only the malformed record is unusable."""
    ours = [words for words in commands() if words[0] == "witnessmark"]
    assert len(ours) > 10
    for words in ours:
        result = run(words)
        faults = FAULTS.findall(result.stderr)
        assert all(line.startswith(MALFORMED) for line in faults), (words, result.output)
        expected = {ExitCode.UNUSABLE} if faults else {ExitCode.RELEASED, ExitCode.HELD}
        assert result.exit_code in expected, (words, result.output)
    assert {"report.html", "result.json", "findings.csv", "records", "ups-07.json"} <= {
        path.name for path in clone.iterdir()
    }


def test_the_demo_ends_as_readme_says(clone: Path) -> None:  # noqa: ARG001 - where it runs
    """The first command ends with exit code 2, and the single card is released."""
    first, *others = (words for words in commands() if words[0] == "witnessmark")
    assert run(first).exit_code == ExitCode.UNUSABLE
    assert run(next(words for words in others if words[1] == "audit")).exit_code == ExitCode.RELEASED


def test_readme_lists_every_exit_code() -> None:
    """Each code has its row."""
    assert re.findall(r"^\| (\d+) \| \w", README, re.MULTILINE) == [str(int(code)) for code in ExitCode]


def test_readme_lists_every_cause_of_a_hold() -> None:
    """Each cause of the gate stands in its table, and nothing else does."""
    (table,) = re.findall(r"^\| cause \| when \|\n(.*?)\n\n", README, re.DOTALL | re.MULTILINE)
    assert set(re.findall(r"`([a-z-]+)`(?=, `| \|)", table)) == {cause.value for cause in Cause}


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
    example, _ = blocks("toml")
    path = tmp_path / "witnessmark.toml"
    path.write_text(example, "utf-8")
    program = load_program(site=str(path))
    assert len(program.tailoring.rules) == 1
    assert program.tailoring.operator == "Example Water"


def test_the_deviation_in_readme_is_good() -> None:
    """The example of a deviation is read without a fault."""
    _, example = blocks("toml")
    (deviation,) = read_deviations(example.encode(), "deviations.toml", load_program()).deviations
    assert deviation.owner == "N. Adeyemi, power engineering"


def test_readme_states_its_two_commands() -> None:
    """The audit of the demo estate and the tests are one line each, set-up included."""
    lines = [line for block in blocks("sh") for line in block.splitlines()]
    assert len([line for line in lines if line.startswith(SET_UP)]) == 2


def test_the_ways_shown_in_readme_are_those_of_the_demo_card(monkeypatch: pytest.MonkeyPatch) -> None:
    """The table in README is what its command prints in a window of 80 columns."""
    monkeypatch.chdir(ROOT)
    monkeypatch.setenv("COLUMNS", "80")
    (shown,) = blocks("text")
    command = next(words for words in commands() if any("chlorine" in word for word in words))
    assert shown in run(command).stdout


def test_the_step_shown_in_readme_is_one_of_its_command(monkeypatch: pytest.MonkeyPatch) -> None:
    """And the figures beside it are those of the procedure."""
    monkeypatch.chdir(ROOT)
    (shown,) = blocks("markdown")
    command = next(words for words in commands() if {"procedure", "10.40.1.7"} <= set(words))
    made = run(command).stdout
    assert shown in made
    steps = re.findall(r"^\*\*(1\.\d+) ", made, re.MULTILINE)
    minutes = re.findall(r"^## Visit 1: (\d+) min$", made, re.MULTILINE)
    assert f"{len(steps)} steps of {minutes[0]} minutes with one restart" in README
    before, after = re.findall(r"\| (\d+) → (\d+) \|", made)[0]
    assert f"of {before} findings {after} remain" in README
