"""``procedure --findings``: a result that can't be used, or that says what is not so any more."""

import json
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from auditor.cli.main import app
from tests.procedure.sample import compliant

AS_OF = ("--as-of", "2026-11-25T12:00:00Z")


def run(*arguments: str) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [*arguments, *AS_OF])


@pytest.fixture
def card(tmp_path: Path) -> str:
    """Return the path of a record with one finding."""
    path = tmp_path / "card.json"
    path.write_bytes(compliant({"services/mdns": {"enabled": True}}).text.reveal())
    return str(path)


@pytest.fixture
def result(card: str, tmp_path: Path) -> Path:
    """Return the path of the result of an audit of that record."""
    path = tmp_path / "result.json"
    run("audit", card, "--format", "json", "--output", str(path))
    return path


def changed(result: Path, change: Any) -> None:
    """Write a result again with its first card changed."""
    document = json.loads(result.read_text("utf-8"))
    change(document["cards"][0])
    result.write_text(json.dumps(document), "utf-8")


def test_what_a_result_holds_is_mended_and_nothing_is_said(card: str, result: Path) -> None:
    """The finding of the audit is the step of the procedure."""
    made = run("procedure", card, "--findings", str(result), "--format", "json")
    assert (made.exit_code, made.stderr) == (0, "")
    assert json.loads(made.stdout)["visits"][0]["parts"][0]["blocks"][0]["steps"][0]["id"] == "discovery"


def test_a_finding_that_is_not_found_any_more_is_named(card: str, result: Path) -> None:
    """Mended since, or found by other rules: the procedure is written, and it is said what it lacks."""
    changed(result, lambda one: one["findings"].append({**one["findings"][0], "rule": "ssdp-enabled"}))
    made = run("procedure", card, "--findings", str(result))
    assert made.exit_code == 0
    assert "ssdp-enabled is not found on card north-a-ups-01 any more" in made.stderr


def test_a_result_without_the_card_of_the_visit_is_refused(card: str, result: Path) -> None:
    """It would be read as: nothing to mend."""
    changed(result, lambda one: one["card"].update(id="another"))
    made = run("procedure", card, "--findings", str(result))
    assert made.exit_code == 2
    assert "it holds no card north-a-ups-01" in made.stderr
    assert made.stdout == ""


@pytest.mark.parametrize("damage", ["[]", '{"schema": "witnessmark/result-1"}', "7", "null", ""])
def test_a_damaged_result_is_refused_in_one_line(damage: str, card: str, tmp_path: Path) -> None:
    """Whatever its shape."""
    path = tmp_path / "damaged.json"
    path.write_text(damage, "utf-8")
    made = run("procedure", card, "--findings", str(path))
    assert made.exit_code == 2
    assert "not a result of an audit in JSON" in made.stderr
    assert "Traceback" not in made.stderr
