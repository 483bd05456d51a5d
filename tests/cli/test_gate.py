"""``witnessmark gate`` at its edges: two folders or a revision, exit codes, what is said where."""

import json
from pathlib import Path
from typing import Any

import orjson
import pytest
from typer.testing import CliRunner, Result

from auditor.cli.gate import _FORMATS
from auditor.cli.main import app
from auditor.cli.terminal import ExitCode
from auditor.report.gate_formats import GATE_FORMATS
from tests.change.states import COMPLIANT, edited
from tests.intake.git_repository import commit, git, needs_git, repository
from tests.rules.matrix import ROOT

AS_OF = ("--as-of", "2026-11-25")


def run(*arguments: object) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, ["gate", *map(str, arguments), *AS_OF])


def put(folder: Path, name: str, settings: dict[str, Any]) -> Path:
    """Write a record with an id."""
    folder.mkdir(parents=True, exist_ok=True)
    path = folder / f"{name}.json"
    whole = edited(settings, lambda card: card["card"].update(id=name))
    path.write_bytes(orjson.dumps(whole, option=orjson.OPT_INDENT_2))
    return path


SEALED = orjson.loads((ROOT / "fixtures/cards/compliant-sealed.json").read_bytes())
OPEN = edited(COMPLIANT, lambda card: card["services"]["telnet"].update(enabled=True))


@pytest.fixture
def two(tmp_path: Path) -> tuple[Path, Path]:
    """Return a folder before, and one after, equal in two cards."""
    for side in ("before", "after"):
        put(tmp_path / side, "a", COMPLIANT)
        put(tmp_path / side, "b", OPEN)
    return tmp_path / "before", tmp_path / "after"


def test_the_formats_of_the_command_are_those_there_are() -> None:
    """The help names them without importing any."""
    assert tuple(GATE_FORMATS) == _FORMATS


def test_two_equal_folders_are_released(two: tuple[Path, Path]) -> None:
    """However bad what stands in them."""
    result = run(*two)
    assert result.exit_code == ExitCode.RELEASED
    assert result.stdout.startswith("RELEASE: no card changed; 2 records unchanged.")


def test_a_decision_that_goes_to_a_file_is_told_in_a_line(two: tuple[Path, Path], tmp_path: Path) -> None:
    """On standard error; a log of a pipeline shows it without the report."""
    output = tmp_path / "gate.md"
    result = run(*two, "--output", output)
    assert (result.exit_code, result.stdout) == (ExitCode.RELEASED, "")
    assert result.stderr == f"Release: no card changed; 2 records unchanged. Report: {output}\n"


def test_a_change_for_the_worse_is_held_and_one_for_the_better_released(two: tuple[Path, Path]) -> None:
    """Files and folders; the other way round is a mend."""
    worse = put(two[1], "a", OPEN)
    held = run(*two)
    assert held.exit_code == ExitCode.HELD
    assert "Services: Telnet: Enabled: false → true" in held.stdout
    back = run(worse, two[0] / "a.json")
    assert back.exit_code == ExitCode.RELEASED
    assert "mended: " in back.stdout


def test_hold_at_chooses_the_band(two: tuple[Path, Path]) -> None:
    """A minor departure holds at low, and not at high."""
    put(two[1], "a", edited(COMPLIANT, lambda card: card["access_policy"].pop("banner_enabled", None)))
    assert run(*two, "--hold-at", "critical").exit_code in (ExitCode.HELD, ExitCode.RELEASED)
    put(two[1], "a", edited(COMPLIANT, lambda card: card["card"].update(name="Other")))
    assert run(*two, "--hold-at", "low").exit_code == ExitCode.RELEASED


def test_a_changed_record_that_can_not_be_used_ends_with_two(two: tuple[Path, Path]) -> None:
    """The rest is judged; standard error says where and what to do."""
    (two[1] / "a.json").write_text("{", "utf-8")
    result = run(*two)
    assert result.exit_code == ExitCode.UNUSABLE
    assert "a.json:1" in result.stderr
    assert result.stdout.startswith("HOLD: 1 changed record can't be used; ")
    assert "card removed" in result.stdout


def test_a_record_that_could_not_be_used_before_is_told_and_is_no_fault(two: tuple[Path, Path]) -> None:
    """Broken before, valid now: the card counts as added."""
    (two[0] / "a.json").write_text("{", "utf-8")
    put(two[1], "a", SEALED)
    result = run(*two)
    assert "Before the change, and not compared:" in result.stderr
    assert "added, score" in result.stdout
    assert result.exit_code == ExitCode.RELEASED


@pytest.mark.parametrize("side", [0, 1])
@pytest.mark.parametrize("wrong", ["never.json", "never", "notes.txt", "cut.json.gz", "only-bad", "-"])
def test_a_path_that_can_not_be_used_is_no_change(two: tuple[Path, Path], side: int, wrong: str) -> None:
    """A mistyped path took nothing away and brought nothing: the fault is told, and nothing decided."""
    home = two[0].parent
    (home / "notes.txt").write_text("no record", "utf-8")
    (home / "cut.json.gz").write_bytes(b"\x1f\x8b\x08")
    (home / "only-bad").mkdir()
    (home / "only-bad/cut.json.gz").write_bytes(b"\x1f\x8b\x08")
    report = home / "gate.json"
    paths: list[object] = [*two]
    paths[side] = wrong if wrong == "-" else home / wrong
    result = run(*paths, "--format", "json", "--output", report, "--format", "table")
    assert result.exit_code == ExitCode.UNUSABLE
    assert (result.stdout, report.exists()) == ("", False)
    assert (str(paths[side]) if wrong != "-" else "standard input") in result.stderr


def test_an_empty_folder_is_a_state_before_the_first_card_and_none_after(two: tuple[Path, Path]) -> None:
    """Before there was a card its folder was empty; after, a wrong path is likelier than an estate gone."""
    empty = two[0].parent / "empty"
    empty.mkdir()
    assert "added, score" in run(empty, two[1]).stdout
    result = run(two[0], empty)
    assert (result.exit_code, result.stdout) == (ExitCode.UNUSABLE, "")
    assert "no records below this folder" in result.stderr


@pytest.mark.parametrize("given", [["only-one"], ["one", "two", "three"]])
def test_before_and_after_are_two_paths(given: list[str]) -> None:
    """Anything else is told with what to give."""
    result = run(*given)
    assert result.exit_code == ExitCode.UNUSABLE
    assert "--against REV" in result.stderr


def test_every_format_goes_to_its_output(two: tuple[Path, Path], tmp_path: Path) -> None:
    """The endings name them; the document says hold."""
    put(two[1], "a", OPEN)
    outputs = [tmp_path / f"gate{ending}" for ending in (".txt", ".json", ".md", ".html", ".sarif", ".xml")]
    result = run(*two, *(word for output in outputs for word in ("--output", output)))
    assert result.exit_code == ExitCode.HELD
    assert json.loads(outputs[1].read_text("utf-8"))["decision"] == "hold"
    assert all(output.stat().st_size > 100 for output in outputs)


def test_an_ending_that_the_gate_has_no_format_for_is_refused(two: tuple[Path, Path]) -> None:
    """A decision has no rows: csv is a format of the audit."""
    result = run(*two, "--output", "x.csv")
    assert result.exit_code == ExitCode.UNUSABLE
    assert ".csv" not in result.stderr.partition("ends in none of")[2].partition(";")[0]


@pytest.fixture
def clone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a repository with two cards at its first revision, and go there."""
    top = repository(tmp_path / "clone")
    put(top / "our records", "a", COMPLIANT)
    put(top / "our records", "b", OPEN)
    commit(top)
    monkeypatch.chdir(top)
    return top


@needs_git
def test_a_work_tree_is_held_against_a_revision(clone: Path) -> None:
    """Nothing changed, then telnet is turned on; what was committed stays what it is."""
    assert run("--against", "main", "our records").exit_code == ExitCode.RELEASED
    put(clone / "our records", "a", OPEN)
    result = run("--against", "HEAD", "our records")
    assert result.exit_code == ExitCode.HELD
    assert "1 record unchanged" in result.stdout
    assert run("--against", "HEAD", "our records/b.json").exit_code == ExitCode.RELEASED


@needs_git
def test_secrets_that_stood_in_clear_before_are_no_new_finding(clone: Path) -> None:
    """What was committed lay in no work tree, and is judged as if it did: what holds is the change."""
    put(clone / "our records", "a", edited(COMPLIANT, lambda card: card["card"].update(name="UPS B")))
    result = run("--against", "HEAD", "our records", "--format", "json")
    assert (result.exit_code, json.loads(result.stdout)["cards"][0]["new"]) == (ExitCode.RELEASED, [])


@needs_git
def test_a_card_that_was_deleted_or_renamed_in_the_work_tree_is_told(clone: Path) -> None:
    """Its path may be named though nothing lies there any more."""
    git(clone, "rm", "--quiet", "our records/b.json")
    for path in ("our records", "our records/b.json"):
        result = run("--against", "HEAD", path)
        assert result.exit_code == ExitCode.HELD
        assert "card removed" in result.stdout
    git(clone, "mv", "our records/a.json", "our records/z.json")
    assert "1 record unchanged" in run("--against", "HEAD", "our records").stdout


@needs_git
def test_a_folder_that_was_emptied_has_lost_its_cards(clone: Path) -> None:
    """It lies there still, with a note in it."""
    for path in (clone / "our records").glob("*.json"):
        path.unlink()
    (clone / "our records/notes.md").write_text("gone", "utf-8")
    result = run("--against", "HEAD", clone / "our records")
    assert result.exit_code == ExitCode.HELD
    assert result.stdout.count("the card is gone") == 2


def test_a_path_that_never_was_is_a_fault(clone: Path) -> None:
    """Neither now nor then."""
    result = run("--against", "HEAD", clone / "never.json")
    assert result.exit_code == ExitCode.UNUSABLE
    assert "never.json: can't be read" in result.stderr


@needs_git
def test_a_revision_that_is_not_there_is_a_fault(clone: Path) -> None:
    """No traceback, the name, and what could be named."""
    result = run("--against", "no-such", clone)
    assert result.exit_code == ExitCode.UNUSABLE
    assert "there is no such revision in this clone" in result.stderr


@needs_git
def test_line_ends_that_a_checkout_changed_are_no_change(clone: Path) -> None:
    """Other bytes, the same settings."""
    path = clone / "our records/a.json"
    path.write_bytes(path.read_bytes().replace(b"\n", b"\r\n"))
    result = run("--against", "HEAD", "our records")
    assert result.exit_code == ExitCode.RELEASED
    assert "no card changed; 2 records unchanged" in result.stdout
