"""``witnessmark mark`` and ``witnessmark drift`` at their edges: files, exit codes, what is said where."""

import json
from pathlib import Path
from typing import Any

import orjson
import pytest
from typer.testing import CliRunner, Result

from auditor.cli.drift import _FORMATS
from auditor.cli.main import app
from auditor.cli.terminal import ExitCode
from auditor.report.drift_formats import DRIFT_FORMATS
from tests.change.states import COMPLIANT, edited

AS_OF = ("--as-of", "2026-11-25")


def run(command: str, *arguments: object) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(app, [command, *map(str, arguments)])


def put(folder: Path, name: str, settings: dict[str, Any] = COMPLIANT) -> Path:
    """Write a record with an id."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.json"
    path.write_bytes(orjson.dumps(edited(settings, lambda card: card["card"].update(id=name))))
    return path


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Go to a folder with two records and a key."""
    monkeypatch.chdir(tmp_path)
    for name in ("a", "b"):
        put(tmp_path / "records", name)
    assert run("seal", "--new-key", "site.key").exit_code == ExitCode.RELEASED
    return tmp_path


def marked(*arguments: object) -> Result:
    """Mark the records."""
    return run("mark", "records", "--by", "N. Adeyemi", *arguments, *AS_OF)


def drifted(*arguments: object) -> Result:
    """Look for drift."""
    return run("drift", "records", *arguments, *AS_OF)


def test_the_formats_of_the_command_are_those_there_are() -> None:
    """The help names them without importing any."""
    assert tuple(DRIFT_FORMATS) == _FORMATS


def test_what_goes_to_a_file_is_told_in_a_line(here: Path) -> None:  # noqa: ARG001 - where it runs
    """On standard error, also where something can't be compared."""
    marked()
    result = drifted("--output", "drift.json")
    assert (result.exit_code, result.stdout) == (ExitCode.RELEASED, "")
    assert result.stderr == (
        "Steady: 0 of 2 cards moved, 0 in a way that changes an outcome. Report: drift.json\n"
    )


def test_marked_cards_are_steady(here: Path) -> None:
    """A file a card, named by its id; nothing has moved."""
    assert marked("--key", "site.key").exit_code == ExitCode.RELEASED
    assert sorted(path.name for path in (here / "marks").iterdir()) == ["a.json", "b.json"]
    result = drifted("--key", "site.key")
    assert result.exit_code == ExitCode.RELEASED
    assert result.stdout.startswith("STEADY: 0 of 2 cards moved")


def test_a_move_that_matters_ends_with_one(here: Path) -> None:
    """And one that does not with zero."""
    marked("--key", "site.key")
    put(here / "records", "a", edited(COMPLIANT, lambda card: card["card"].update(name="Other")))
    quiet = drifted("--key", "site.key")
    assert (quiet.exit_code, "Card: Name" in quiet.stdout) == (ExitCode.RELEASED, True)
    put(
        here / "records", "a", edited(COMPLIANT, lambda card: card["services"]["telnet"].update(enabled=True))
    )
    loud = drifted("--key", "site.key")
    assert loud.exit_code == ExitCode.HELD
    assert "(matters: telnet-enabled)" in " ".join(loud.stdout.split())


def test_a_card_without_a_mark_and_a_mark_without_a_card_are_told(here: Path) -> None:
    """The first asks for somebody; the second is said."""
    marked()
    (here / "records/a.json").unlink()
    put(here / "records", "c")
    result = drifted()
    assert result.exit_code == ExitCode.HELD
    assert "nobody approved this card" in result.stdout
    assert "there is a mark, and no record was given: a." in result.stdout


def test_an_altered_mark_is_told(here: Path) -> None:
    """Somebody put their own name in."""
    marked("--key", "site.key")
    path = here / "marks/a.json"
    path.write_text(path.read_text("utf-8").replace("N. Adeyemi", "S. Kaur"), "utf-8")
    result = drifted()
    assert result.exit_code == ExitCode.HELD
    assert "it was altered" in result.stdout


def test_what_can_not_be_used_ends_with_two_after_all_else(here: Path) -> None:
    """A mark that is none, a record that is none: the other card is compared."""
    marked()
    put(here / "marks", "gone", COMPLIANT)
    (here / "marks/a.json").write_text("{}", "utf-8")
    put(here / "records", "b", edited(COMPLIANT, lambda card: card["card"].update(name="Other")))
    result = drifted()
    assert result.exit_code == ExitCode.UNUSABLE
    assert "marks/a.json: /schema" in result.stderr
    assert "1 record or mark can't be used." in " ".join(result.stdout.split())
    assert "Card: Name" in result.stdout
    assert result.stdout.endswith("no record was given: gone.\n"), "the card of the bad mark was given"


def test_a_folder_of_marks_that_is_not_there_is_no_lack_of_approval(here: Path) -> None:  # noqa: ARG001
    """A wrong path ends with two, and nothing is said of the cards."""
    result = drifted("--marks", "maarks")
    assert (result.exit_code, result.stdout) == (ExitCode.UNUSABLE, "")
    assert result.stderr.startswith("maarks: no such folder of marks\n  Name the folder with --marks")


def test_marking_says_what_it_can_not_keep_without_a_key(here: Path) -> None:
    """On standard error; standard output stays empty."""
    result = marked()
    assert (here / "marks").exists()
    assert "Without --key nobody can prove a mark" in result.stderr
    assert result.stdout == ""


def test_a_faulty_record_is_not_marked(here: Path) -> None:
    """The others are; the run ends with two."""
    (here / "records/a.json").write_text("{", "utf-8")
    assert marked().exit_code == ExitCode.UNUSABLE
    assert [path.name for path in (here / "marks").iterdir()] == ["b.json"]


def test_a_folder_that_can_not_be_made_is_a_fault_of_the_call(here: Path) -> None:
    """A file stands in its place: exit code 2 and what to do, no fault of ours."""
    (here / "taken").write_bytes(b"")
    result = run("mark", "records", "--by", "N. Adeyemi", "--to", "taken")
    assert result.exit_code == ExitCode.UNUSABLE
    assert result.stderr.startswith("taken: can't be written: file exists\n  ")


def test_nobody_is_no_name(here: Path) -> None:
    """A mark without somebody who answers for it is worth nothing."""
    assert here.exists()
    assert run("mark", "records", "--by", " ").exit_code == ExitCode.UNUSABLE
    assert run("mark", "records", "--by", "x" * 256).exit_code == ExitCode.UNUSABLE
    assert run("mark", "records").exit_code == ExitCode.UNUSABLE


def test_every_format_goes_to_its_output(here: Path) -> None:
    """The endings name them."""
    marked()
    outputs = [here / f"drift{ending}" for ending in (".txt", ".json", ".md", ".sarif", ".xml")]
    drifted(*(word for output in outputs for word in ("--output", output)))
    assert json.loads(outputs[1].read_text("utf-8"))["drifted"] is False
    assert all(output.stat().st_size > 50 for output in outputs)
