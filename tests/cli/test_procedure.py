"""``witnessmark procedure`` at its edges: formats, selections, windows, the after-image, and refusals."""

import csv
import io
import json
import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import jsonschema
import orjson
import pytest
from typer.testing import CliRunner, Result

from auditor.cli.main import app
from tests.rules.matrix import ROOT

UV = str(ROOT / "fixtures/estate/fernhead-works/fhw-ups-uv.json")
PROBE = str(ROOT / "fixtures/estate/fernhead-works/fhw-probe-lab.json")
SITE = ("--site", str(ROOT / "fixtures/estate/witnessmark.toml"))
USUAL = (*SITE, "--as-of", "2026-11-25T12:00:00Z", "--from", "10.40.20.7")
SAID = ("title", "what", "where", "enter", "expected", "verify", "back", "monitoring", "minutes")
STARTS = {
    "table": "PLANNED IN PART: ",
    "html": "<!doctype html>",
    "markdown": "# Method of procedure",
    "csv": '"visit","card","step"',
    "json": "{",
}


def run(*arguments: str, stdin: bytes = b"") -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [*arguments], input=stdin)


def document(*arguments: str) -> Any:
    """Return the JSON of a procedure."""
    return json.loads(run("procedure", *arguments, *USUAL, "--format", "json").stdout)


def steps_of(made: Any) -> list[Any]:
    """Return the steps of a procedure, in their order."""
    parts = [part for visit in made["visits"] for part in visit["parts"]]
    return [step for part in parts for block in part["blocks"] for step in block["steps"]]


@pytest.mark.parametrize("form", STARTS)
def test_every_format_goes_to_standard_output(form: str) -> None:
    """Nothing is said beside it; one step of this card is left out, so the exit code is 1."""
    result = run("procedure", UV, *USUAL, "--format", form)
    assert (result.exit_code, result.stderr) == (1, "")
    assert result.stdout.startswith(STARTS[form])


def test_people_at_a_terminal_get_the_table(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """What is piped on stays Markdown; the ending .txt asks for the table, too."""
    assert run("procedure", UV, *USUAL).stdout.startswith(STARTS["markdown"])
    file = tmp_path / "visit.txt"
    run("procedure", UV, *USUAL, "--output", str(file))
    monkeypatch.setattr("auditor.cli.procedure.is_at_terminal", lambda: True)
    assert run("procedure", UV, *USUAL).stdout == file.read_text("utf-8")
    assert file.read_text("utf-8").startswith(STARTS["table"])


def test_the_json_keeps_its_schema() -> None:
    """As does that of several cards in a window, and that of a card without findings."""
    schema = json.loads((ROOT / "auditor/report/procedure-1.schema.json").read_text("utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    for arguments in ((UV,), (UV, PROBE, "--window", "90"), (str(ROOT / "fixtures/cards/compliant.json"),)):
        jsonschema.validate(document(*arguments), schema)


def test_every_step_says_all_that_a_technician_needs() -> None:
    """What, where, value, expected, verify, back and monitoring: none is empty."""
    for step in steps_of(document(UV)):
        assert [name for name in SAID if not step[name]] == [], step["id"]


def test_the_after_image_is_what_the_procedure_expects(tmp_path: Path) -> None:
    """Audited, it has the score and the findings that were promised; a second plan has nothing to do."""
    target = tmp_path / "after.json"
    made = document(UV, "--after", str(target))
    audited = json.loads(run("audit", str(target), *USUAL[:4], "--format", "json").stdout)["cards"][0]
    assert len(audited["findings"]) == made["cards"][0]["findings_after"]
    assert audited["score"]["percent"] == pytest.approx(made["cards"][0]["score_after"])
    assert document(str(target))["visits"] == []


def test_the_after_image_holds_no_clear_secret(tmp_path: Path) -> None:
    """It is sealed, the secrets that no step touches too."""
    target = tmp_path / "after.ndjson"
    run("procedure", UV, PROBE, *USUAL, "--after", str(target))
    lines = target.read_bytes().splitlines()
    assert [orjson.loads(line)["card"]["id"] for line in lines] == ["fhw-ups-uv", "fhw-probe-lab"]
    assert b'"clear"' not in target.read_bytes()


def test_only_the_findings_of_a_result_are_mended(tmp_path: Path) -> None:
    """Of a result cut down to one finding, one step is left; others are said not to be asked for."""
    target = tmp_path / "result.json"
    run("audit", UV, *USUAL[:4], "--format", "json", "--output", str(target))
    result = json.loads(target.read_text("utf-8"))
    card = result["cards"][0]
    card["findings"] = [found for found in card["findings"] if found["rule"] == "session-timeout-off"]
    target.write_text(json.dumps(result), "utf-8")
    made = document(UV, "--findings", str(target))
    assert [step["id"] for step in steps_of(made)] == ["session-timeout"]
    assert {each["reason"] for each in made["remaining"]} == {
        "it is not among the findings that were asked for"
    }


def test_what_does_not_fit_the_window_goes_to_later_visits() -> None:
    """Each visit keeps the window, and the first has the greatest risk a minute."""
    made = document(UV, "--window", "120")
    assert len(made["visits"]) > 2
    assert "all that must come before it" in made["sharing"]
    for form in ("markdown", "html", "table"):
        text = run("procedure", UV, *USUAL, "--window", "120", "--format", form).stdout
        assert made["sharing"] in " ".join(text.split())
    assert document(UV)["sharing"] == ""
    assert all(visit["minutes"] <= 120 for visit in made["visits"])


def test_a_window_too_short_for_any_step_says_so() -> None:
    """No visit, every step told as left out, exit code 1."""
    result = run("procedure", UV, *USUAL, "--window", "10", "--format", "json")
    made = json.loads(result.stdout)
    assert (result.exit_code, made["visits"]) == (1, [])
    assert len(made["left_out"]) > 40


def test_csv_has_a_row_a_step_with_room_for_initials() -> None:
    """In the order of the JSON."""
    rows = list(csv.DictReader(io.StringIO(run("procedure", UV, *USUAL, "--format", "csv").stdout)))
    assert [row["step"] for row in rows] == [step["number"] for step in steps_of(document(UV))]
    assert {row["initials"] for row in rows} == {""}


def _no_record(folder: Path) -> list[str]:
    (folder / "broken.json").write_text("{", "utf-8")
    return [str(folder / "broken.json")]


REFUSED: list[tuple[Callable[[Path], list[str]], str]] = [
    (lambda _: [UV, "--from", "technician"], "expected an IP address"),
    (lambda _: [UV, "--findings", UV], "not a result of an audit"),
    (_no_record, "broken.json"),
    (lambda folder: [UV, "--findings", str(folder / "none.json")], "none.json: can't be read"),
    (lambda _: [UV, "--output", UV], "fhw-ups-uv.json"),
    (lambda folder: [UV, "--output", str(folder / "visit.docx")], "visit.docx ends in none of .html"),
    (lambda _: [UV, "--after", "-"], "name a file of its own"),
    (lambda folder: [UV, "--after", str(folder / "a.csv")], "a.csv ends in none of .json, .ndjson"),
    (lambda folder: [UV, "--after", str(folder / "after")], "after ends in none of .json, .ndjson"),
    (
        lambda folder: [UV, "--output", str(folder / "a.json"), "--after", str(folder / "a.json")],
        "of its own",
    ),
]


@pytest.mark.parametrize(("arguments", "said"), REFUSED)
def test_what_cant_be_used_is_told(arguments: Callable[[Path], list[str]], said: str, tmp_path: Path) -> None:
    """Exit code 2, and what to do on standard error."""
    result = run("procedure", *arguments(tmp_path))
    assert result.exit_code == 2
    assert said in " ".join(result.stderr.split())
    assert "Traceback" not in result.stderr
    assert result.stdout == ""


def test_without_a_card_no_paper_is_written(tmp_path: Path) -> None:
    """A method of procedure with all its headings and no card could be taken for one that is done."""
    target = tmp_path / "visit.html"
    result = run("procedure", *_no_record(tmp_path), *USUAL, "--output", str(target))
    assert (result.exit_code, target.exists()) == (2, False)
    assert "No procedure was written" in result.stderr


def test_a_record_that_cant_be_used_is_missed_aloud(tmp_path: Path) -> None:
    """The others are planned; standard error says what a written procedure comes to and lacks."""
    target = tmp_path / "visit.md"
    result = run("procedure", PROBE, *_no_record(tmp_path), *USUAL, "--output", str(target))
    assert result.exit_code == 2
    assert re.search(r"visit\.md: [0-9]+ steps? in 1 visit, [0-9]+ min in all, ", result.stderr)
    assert "without the records that could not be used" in result.stderr
    assert "fhw-probe-lab" in target.read_text("utf-8")


def test_what_a_deviation_covers_is_not_mended(tmp_path: Path) -> None:
    """Somebody answers for it: it remains, and the procedure says so."""
    target = tmp_path / "deviations.toml"
    target.write_text(DEVIATION, "utf-8")
    made = document(UV, "--deviations", str(target))
    kept = [each for each in made["remaining"] if each["rule"] == "session-timeout-off"]
    assert [each["reason"].partition(":")[0] for each in kept] == ["it is accepted"]
    assert [each["instead"] for each in kept] == ["Nothing until 2027-03-01: m.trewin answers for it."]
    assert "session-timeout" not in [step["id"] for step in steps_of(made)]


DEVIATION = """
[[deviation]]
rule = "session-timeout-off"
cards = ["fhw-ups-uv"]
owner = "m.trewin"
reason = "the wall display has to stay logged in"
approved = 2026-11-01
expires = 2027-03-01
"""
