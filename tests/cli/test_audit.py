"""``witnessmark audit`` at its edges: exit codes, pairs of format and output, what is said where."""

import gzip
import json
import os
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from auditor.cli.as_of import moment_given
from auditor.cli.main import app
from auditor.cli.terminal import ExitCode
from auditor.record.refusal import REPORT
from auditor.report.result_head import SCHEMA
from tests.rules.matrix import ROOT

COMPLIANT = ROOT / "fixtures/cards/compliant.json"
AS_OF = ("--as-of", "2026-11-25")


def run(*arguments: str, stdin: bytes = b"") -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, ["audit", *arguments, *AS_OF], input=stdin)


def card(folder: Path, name: str, **changes: object) -> Path:
    """Write the compliant card with some sections replaced."""
    settings = json.loads(COMPLIANT.read_text("utf-8"))
    settings["card"]["id"] = name
    settings.update(changes)
    path = folder / f"{name}.json"
    path.write_text(json.dumps(settings), "utf-8")
    return path


def telnet(folder: Path, name: str = "open") -> Path:
    """Write a card with telnet on."""
    services = json.loads(COMPLIANT.read_text("utf-8"))["services"]
    services["telnet"]["enabled"] = True
    return card(folder, name, services=services)


def test_a_compliant_card_is_released(tmp_path: Path) -> None:
    """Nothing at or above the band: exit code 0, and the table says so first."""
    result = run(str(card(tmp_path, "fine")))
    assert result.exit_code == 0
    assert result.stdout.startswith("RELEASED")


def test_a_finding_holds(tmp_path: Path) -> None:
    """Telnet on a card with a critical load is held: exit code 1."""
    result = run(str(telnet(tmp_path)))
    assert result.exit_code == 1
    assert "telnet-enabled" in result.stdout


def test_an_unusable_record_does_not_stop_the_others(tmp_path: Path) -> None:
    """The malformed record is told with place and remedy; the other is audited; exit code 2."""
    (tmp_path / "broken.json").write_text('{"schema": "witnessmark/card-1",\n "card": {"id": 5}}', "utf-8")
    telnet(tmp_path)
    result = run(str(tmp_path))
    assert result.exit_code == 2
    assert "broken.json:2:" in result.stderr
    assert "/card/id" in result.stderr
    assert "telnet-enabled" in result.stdout


def test_two_records_of_one_card_name_both_files(tmp_path: Path) -> None:
    """One card id twice is an error that names both files."""
    first, second = card(tmp_path, "same"), tmp_path / "zz.json"
    second.write_bytes(first.read_bytes())
    result = run(str(tmp_path))
    assert result.exit_code == 2
    assert "same.json" in result.stderr
    assert "zz.json" in result.stderr


def test_a_path_that_is_not_there_is_said() -> None:
    """A missing file gives exit code 2 and its name."""
    result = run("no-such-file.json")
    assert result.exit_code == 2
    assert "no-such-file.json" in result.stderr


@pytest.mark.parametrize("form", ["table", "markdown", "json", "html"])
def test_an_empty_folder_is_called_what_it_is(tmp_path: Path, form: str) -> None:
    """It is no record that could not be used; standard error says what to give instead."""
    (tmp_path / "empty").mkdir()
    result = run(str(tmp_path / "empty"), "--format", form)
    assert result.exit_code == 2
    assert "1 folder holds no records" in result.stdout
    assert "1 record" not in result.stdout
    assert "empty: no records below this folder\n  Give a folder that holds files named" in result.stderr


def test_empty_folders_are_told_beside_records(tmp_path: Path) -> None:
    """Each by its own number, and not in the other's."""
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
    (tmp_path / "bad.json").write_text("{", "utf-8")
    result = run(*(str(tmp_path / name) for name in ("one", "two", "bad.json")), "--format", "json")
    summary = json.loads(result.stdout)["summary"]
    assert summary["reason"] == (
        "1 record could not be used, and was not audited. 2 folders hold no records."
    )
    assert summary["unusable"] == 3


def test_standard_input_and_compressed_files_are_read(tmp_path: Path) -> None:
    """``-`` and ``.gz`` mix with plain paths."""
    packed = tmp_path / "packed.json.gz"
    packed.write_bytes(gzip.compress(card(tmp_path, "packed").read_bytes()))
    (tmp_path / "packed.json").unlink()
    result = run("-", str(packed), "--format", "json", stdin=COMPLIANT.read_bytes())
    assert [c["card"]["id"] for c in json.loads(result.stdout)["cards"]] == ["north-a-ups-01", "packed"]


def test_several_formats_go_to_their_outputs(tmp_path: Path) -> None:
    """Pairs of format and output are written in one run; an ending names a format too."""
    outputs = [tmp_path / name for name in ("out.json", "out.csv", "out.md", "out.html")]
    pairs = ["--format", "json", "--output", str(outputs[0])]
    for output in outputs[1:]:
        pairs += ["--output", str(output)]
    result = run(str(card(tmp_path, "fine")), *pairs)
    assert result.exit_code == 0
    assert result.stdout == ""
    assert all(output.stat().st_size for output in outputs)


def test_a_run_without_a_table_says_in_a_line_what_it_came_to(tmp_path: Path) -> None:
    """Verdict, how many findings, the worst card, where the reports are; standard output stays clean."""
    card(tmp_path, "fine")
    telnet(tmp_path)
    outputs = [str(tmp_path / name) for name in ("out.csv", "out.json")]
    result = run(str(tmp_path), "--output", outputs[0], "--output", outputs[1])
    assert result.exit_code == 1
    assert result.stdout == ""
    assert result.stderr.startswith("Held: 1 finding at medium or above, on 1 of 2 cards, and ")
    assert result.stderr.endswith(f" Worst card: open, critical 9.3. Reports: {', '.join(outputs)}\n")
    assert result.stderr.count("\n") == 1


def test_a_released_run_without_a_table_says_so_too(tmp_path: Path) -> None:
    """No card is the worst where nothing is found; a result on standard output is no place to read it."""
    output = str(tmp_path / "out.md")
    result = run(str(card(tmp_path, "fine")), "--format", "markdown", "--output", output, "--format", "json")
    assert result.exit_code == 0
    assert json.loads(result.stdout)
    assert result.stderr == f"Released: no finding at medium or above on the card. Report: {output}\n"


@pytest.mark.parametrize("asked", [["--quiet", "--output", "out.csv"], ["--format", "json"], []])
def test_a_line_is_not_said_where_it_is_not_wanted_or_told_anyway(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, asked: list[str]
) -> None:
    """Quiet is quiet; a result that goes to standard output alone, or a table, says it itself."""
    monkeypatch.chdir(tmp_path)
    assert run(str(telnet(tmp_path)), *asked).stderr == ""


def test_two_formats_for_standard_output_are_refused() -> None:
    """They would be mixed: exit code 2 and no report."""
    result = run(str(COMPLIANT), "--format", "json", "--format", "csv")
    assert result.exit_code == 2
    assert result.stdout == ""


@pytest.mark.parametrize(
    ("output", "words"),
    [
        ("report.xyz", "ends in none of .txt, .json, .ndjson, .csv, .md, .html, .htm"),
        ("-", "standard output (-) has no ending"),
        (str(ROOT), "is a folder; name a file in it"),
    ],
)
def test_an_output_without_a_known_ending_is_refused(output: str, words: str) -> None:
    """The command says what is wrong with the name instead of guessing a format."""
    arguments = ["audit", str(COMPLIANT), "--output", output]
    result = CliRunner().invoke(app, arguments, env={"COLUMNS": "300"})
    assert result.exit_code == 2
    assert words in result.stderr


def test_none_is_no_band_to_hold_at() -> None:
    """Held at none would be held always, or never."""
    assert run(str(COMPLIANT), "--hold-at", "none").exit_code == 2


@pytest.mark.parametrize("output", ["fine.json", "link.json", "folder/inner.json", "site.toml"])
def test_an_output_never_takes_the_place_of_an_input(tmp_path: Path, output: str) -> None:
    """A record, a record below a folder, a link to one, a site's file: refused, nothing written."""
    record, site = card(tmp_path, "fine"), tmp_path / "site.toml"
    (tmp_path / "folder").mkdir()
    card(tmp_path / "folder", "inner")
    (tmp_path / "link.json").symlink_to(record)
    site.write_text('[site]\noperator = "Example"\n', "utf-8")
    before, other = (tmp_path / output).read_bytes(), tmp_path / "other.html"
    inputs = [str(record), str(tmp_path / "folder"), "--site", str(site)]
    ends = ["--output", str(other), "--format", "json", "--output", str(tmp_path / output)]
    result = run(*inputs, "--format", "html", *ends)
    assert result.exit_code == 2
    assert "this is one of the inputs" in result.stderr
    assert (tmp_path / output).read_bytes() == before
    assert not other.exists()


@pytest.mark.parametrize("name", ["json", "ndjson"])
def test_a_report_among_the_records_is_one_fault(tmp_path: Path, name: str) -> None:
    """A report that was left in the folder is called that, once, and told to be moved."""
    record, report = card(tmp_path, "fine"), tmp_path / f"report.{name}"
    run(str(record), "--output", str(report))
    result = run(str(tmp_path))
    assert result.exit_code == 2
    assert result.stderr.count("report." + name) == 1
    assert "this is a report, not a record\n  Move it out of the folder" in result.stderr


def test_a_report_is_known_by_the_name_that_reports_have() -> None:
    """Reading and writing agree on the name."""
    assert REPORT == SCHEMA


def test_quiet_silences_no_fault(tmp_path: Path) -> None:
    """Why the exit code is 2 is said even so."""
    card(tmp_path, "fine")
    (tmp_path / "broken.json").write_text("{", "utf-8")
    result = run(str(tmp_path), "--quiet", "--format", "csv")
    assert result.exit_code == 2
    assert "broken.json" in result.stderr


def test_a_fault_is_told_once(tmp_path: Path) -> None:
    """Beside standard error the table names file and count; a table in a file tells the fault."""
    record, table = tmp_path / "broken.json", tmp_path / "report.txt"
    record.write_text('{"schema": "witnessmark/card-1", "card": {"id": 5}}', "utf-8")
    result = run(str(record))
    # A long path is broken wherever the line ends.
    assert f"{record}:1fault," in "".join(result.stdout.split())
    assert "/card/id" not in result.stdout
    assert "/card/id" in result.stderr
    assert run(str(record), "--output", str(table)).exit_code == 2
    assert "/card/id" in table.read_text("utf-8")


def test_paths_that_overlap_are_read_once(tmp_path: Path) -> None:
    """A folder, a folder within it, and a file of that: every card once, and no fault."""
    (tmp_path / "inner").mkdir()
    record = card(tmp_path / "inner", "fine")
    result = run(str(tmp_path), str(tmp_path / "inner"), str(record), str(record), "--format", "json")
    assert result.exit_code == 0, result.output
    assert len(json.loads(result.stdout)["cards"]) == 1


def test_what_is_done_is_not_advised() -> None:
    """Where the page is written in the same run, the table does not advise to write it."""
    alone = run(str(COMPLIANT))
    with_page = run(
        str(COMPLIANT), "--format", "table", "--output", "-", "--format", "html", "--output", os.devnull
    )
    assert "--format html" in alone.stdout
    assert "--format html" not in with_page.stdout


def test_help_says_every_exit_code() -> None:
    """Whoever scripts the command finds its codes where the command is explained."""
    told = " ".join(run("--help").stdout.split())
    assert all(f"{int(code)}: " in told or f"code {int(code)}:" in told for code in ExitCode)


@pytest.mark.parametrize(("band", "code"), [("low", 1), ("critical", 0)])
def test_hold_at_chooses_the_band(tmp_path: Path, band: str, code: int) -> None:
    """Long sessions alone are held at low; they are no critical finding by themselves."""
    policy = json.loads(COMPLIANT.read_text("utf-8"))["access_policy"]
    slow = card(tmp_path, "slow", access_policy={**policy, "session_timeout_s": 86400})
    assert run(str(slow), "--hold-at", band).exit_code == code


def test_only_cards_leaves_the_others_out(tmp_path: Path) -> None:
    """A pattern on card ids chooses what is audited."""
    telnet(tmp_path, "north-1")
    card(tmp_path, "south-1")
    assert run(str(tmp_path), "--only-cards", "south-*").exit_code == 0
    assert run(str(tmp_path), "--only-cards", "north-*").exit_code == 1


DEVIATION = """
[[deviation]]
rule = "telnet-enabled"
cards = ["open"]
owner = "N. Adeyemi"
reason = "The old logger speaks nothing else."
approved = 2026-09-01
expires = 2026-12-31
"""


def test_a_deviation_releases_what_it_covers_until_it_ends(tmp_path: Path) -> None:
    """The same record: released under the deviation, held without it and after its last day."""
    deviations = tmp_path / "deviations.toml"
    deviations.write_text(DEVIATION, "utf-8")
    record = str(telnet(tmp_path))
    assert run(record).exit_code == ExitCode.HELD
    released = run(record, "--deviations", str(deviations))
    assert released.exit_code == ExitCode.RELEASED
    assert "accepted until 2026-12-31, N. Adeyemi answers for it" in " ".join(released.stdout.split())
    deviations.write_text(DEVIATION.replace("2026-12-31", "2026-11-24"), "utf-8")
    held = run(record, "--deviations", str(deviations))
    assert held.exit_code == ExitCode.HELD
    assert "A deviation has expired" in held.stdout


def test_a_faulty_file_of_deviations_stops_the_run(tmp_path: Path) -> None:
    """Nothing is audited by deviations that can't be read: line, pointer and what to do."""
    deviations = tmp_path / "deviations.toml"
    deviations.write_text(DEVIATION.replace("telnet-enabled", "telnet-enable"), "utf-8")
    refused = run(str(telnet(tmp_path)), "--deviations", str(deviations))
    assert refused.exit_code == ExitCode.UNUSABLE
    assert f"{deviations}:3: /deviation/0/rule: no rule telnet-enable" in refused.stderr


def test_an_output_never_takes_the_place_of_the_deviations(tmp_path: Path) -> None:
    """The file of deviations is an input too, also where the site names it."""
    (tmp_path / "deviations.toml").write_text(DEVIATION, "utf-8")
    site = tmp_path / "witnessmark.toml"
    site.write_text('[site]\ndeviations = "deviations.toml"\n', "utf-8")
    refused = run(
        str(telnet(tmp_path)), "--site", str(site), "--format", "json",
        "--output", str(tmp_path / "deviations.toml"),
    )  # fmt: skip
    assert refused.exit_code == ExitCode.UNUSABLE
    assert (tmp_path / "deviations.toml").read_text("utf-8") == DEVIATION


def test_a_pattern_that_fits_no_card_is_a_fault(tmp_path: Path) -> None:
    """Nothing was audited, so nothing is released: exit code 2, no report, and what was read."""
    card(tmp_path, "south-1")
    card(tmp_path, "south-2")
    output = tmp_path / "report.html"
    result = run(str(tmp_path), "--only-cards", "x*", "--output", str(output))
    assert result.exit_code == 2
    assert "no card id matches 'x*'; 2 records were read" in result.stderr
    assert "south-1" in result.stderr
    assert not output.exists()


@pytest.mark.parametrize(
    ("given", "moment"),
    [
        ("2026-11-25", "2026-11-25T00:00:00+00:00"),
        ("2026-11-25T12:00:00Z", "2026-11-25T12:00:00+00:00"),
        ("2026-11-25t12:00:00z", "2026-11-25T12:00:00+00:00"),
        ("2026-11-25 12:00:00+01:00", "2026-11-25T11:00:00+00:00"),
        ("2026-11-24T22:30:00.25-03:30", "2026-11-25T02:00:00.250000+00:00"),
    ],
)
def test_the_moment_is_a_date_or_a_date_time_with_offset(given: str, moment: str) -> None:
    """A date is 00:00 UTC of that day; a date-time is taken as RFC 3339 section 5.6 writes it."""
    assert moment_given(given).isoformat() == moment


@pytest.mark.parametrize(
    "given", ["2026-11-25T12:00:00", "2026-W48-3", "20261125", "25.11.2026", "now", "2026-11-25T12:00Z", ""]
)
def test_a_moment_of_another_form_is_refused(given: str) -> None:
    """Exit code 2, and the error says what to write; a time without offset is no moment."""
    result = CliRunner().invoke(app, ["audit", str(COMPLIANT), "--as-of", given], env={"COLUMNS": "300"})
    assert result.exit_code == 2
    assert result.stdout == ""
    assert "such as 2026-11-25T12:00:00+00:00 or 2026-11-25T12:00:00Z" in result.stderr


@pytest.mark.parametrize(
    "given", ["2026-02-30", "2026-11-25T24:30:00Z", "2026-11-25T12:00:00+25:00", "0001-01-01T00:00:00+14:00"]
)
def test_a_moment_that_no_calendar_has_is_refused(given: str) -> None:
    """Exit code 2 without a report."""
    result = CliRunner().invoke(app, ["audit", str(COMPLIANT), "--as-of", given], env={"COLUMNS": "300"})
    assert result.exit_code == 2
    assert "there is no such day or time" in result.stderr


def test_the_report_carries_the_moment_of_the_audit() -> None:
    """An offset moves the moment: the report names it in UTC."""
    moment = "2026-11-25T12:00:00+01:00"
    result = CliRunner().invoke(app, ["audit", str(COMPLIANT), "--as-of", moment, "--format", "json"])
    assert "2026-11-25T11:00:00" in result.stdout


def test_an_unwritable_output_leaves_nothing_behind(tmp_path: Path) -> None:
    """No report is half-written: exit code 2, a word on standard error, no file."""
    result = run(str(COMPLIANT), "--output", str(tmp_path / "none" / "out.html"))
    assert result.exit_code == 2
    assert "out.html" in result.stderr
    assert list(tmp_path.iterdir()) == []


def test_a_fault_of_ours_is_named_without_a_traceback(monkeypatch: pytest.MonkeyPatch) -> None:
    """Exit code 3; neither message nor traceback, which might hold what a record holds."""

    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("SECRET-MARKER")

    monkeypatch.setattr("auditor.fleet.audit.assess", fail)
    result = run(str(COMPLIANT))
    assert result.exit_code == 3
    assert "RuntimeError" in result.stderr
    assert "SECRET-MARKER" not in result.output


def test_an_interrupt_writes_no_report(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Ctrl-C leaves no file and no verdict."""

    def interrupt(*_: object, **__: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("auditor.fleet.audit.assess", interrupt)
    result = run(str(COMPLIANT), "--output", str(tmp_path / "out.html"))
    assert result.exit_code == 130
    assert list(tmp_path.iterdir()) == []
