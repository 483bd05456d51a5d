"""``witnessmark worksheet`` at its edges: formats, outputs, what it reads."""

from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from auditor.cli.main import app
from tests.cli.test_audit import card
from tests.rules.matrix import ROOT

COMPLIANT = ROOT / "fixtures/cards/compliant.json"
STARTS = {
    "html": "<!doctype html>",
    "markdown": "# Worksheet: settings to read off by hand",
    "csv": '"pointer","question","unit","allowed","answer"',
}


def run(*arguments: str, stdin: bytes = b"") -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, ["worksheet", *arguments], input=stdin)


@pytest.mark.parametrize("form", STARTS)
def test_every_format_goes_to_standard_output(form: str) -> None:
    """Without a record, everything is asked; nothing is said beside the form."""
    result = run("--format", form)
    assert result.exit_code == 0
    assert result.stdout.startswith(STARTS[form])
    assert result.stderr == ""


@pytest.mark.parametrize(
    ("ending", "form"), [("html", "html"), ("md", "markdown"), ("csv", "csv"), ("txt", "markdown")]
)
def test_the_ending_of_the_output_chooses_the_format(ending: str, form: str, tmp_path: Path) -> None:
    """The form is written to the file, and standard output stays empty."""
    target = tmp_path / f"form.{ending}"
    result = run(str(COMPLIANT), "--output", str(target))
    assert (result.exit_code, result.stdout) == (0, "")
    assert target.read_text("utf-8").startswith(STARTS[form])


def test_an_ending_that_names_no_format_is_refused(tmp_path: Path) -> None:
    """Nothing is written that its name denies; a format that is named outright is taken at its word."""
    target = tmp_path / "form.docx"
    refused = run("--output", str(target))
    assert (refused.exit_code, target.exists()) == (2, False)
    assert "form.docx ends in none of .html, .htm, .md, .txt, .csv" in " ".join(refused.stderr.split())
    assert run("--format", "csv", "--output", str(target)).exit_code == 0
    assert target.read_text("utf-8").startswith(STARTS["csv"])


def test_what_a_record_knows_is_left_out() -> None:
    """The form of a record names its card and does not ask for what stands in it."""
    text = run(str(COMPLIANT), "--format", "csv").stdout
    assert "north-a-ups-01" in text
    assert "/services/telnet/enabled" not in text
    assert "/services/telnet/allowed_sources" in text


def test_a_record_can_come_from_standard_input() -> None:
    """A dash reads one record from standard input."""
    assert "north-a-ups-01" in run("-", "--format", "csv", stdin=COMPLIANT.read_bytes()).stdout


def test_a_record_that_cant_be_used_is_told(tmp_path: Path) -> None:
    """A broken record, none, and several of them are faults: exit code 2 and nothing written."""
    target = tmp_path / "form.md"
    (tmp_path / "broken.json").write_text('{"card": 5}', "utf-8")
    (tmp_path / "two.ndjson").write_bytes((COMPLIANT.read_bytes().replace(b"\n", b" ") + b"\n") * 2)
    for name in ("broken.json", "two.ndjson", "missing.json"):
        result = run(str(tmp_path / name), "--output", str(target))
        assert result.exit_code == 2
        assert name in result.stderr
    assert not target.exists()


def test_a_worksheet_never_takes_the_place_of_its_record(tmp_path: Path) -> None:
    """Record and output are one file: refused, and the record is as it was."""
    record = card(tmp_path, "fine")
    before = record.read_bytes()
    result = CliRunner().invoke(app, ["worksheet", str(record), "--format", "csv", "--output", str(record)])
    assert result.exit_code == 2
    assert "this is one of the inputs" in result.stderr
    assert record.read_bytes() == before
