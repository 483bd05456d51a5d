"""``witnessmark import`` and ``map`` at their edges: what is written, what is said, exit codes."""

import json
from pathlib import Path

from typer.testing import CliRunner, Result

from auditor.cli.main import app
from tests.rules.matrix import ROOT

EXPORT = ROOT / "fixtures/imports/netconf/ups-room-1.xml"
MAP = ROOT / "fixtures/imports/maps/card-family-a.toml"
SAMPLES = sorted((ROOT / "fixtures/imports/maps/card-family-a").glob("*.xml"))


def run(*arguments: object) -> Result:
    """Run the command in this process."""
    return CliRunner().invoke(app, [str(argument) for argument in arguments])


def test_an_import_writes_one_record_a_card(tmp_path: Path) -> None:
    """The record is written under the card's id, for its owner alone, and the terminal says what is known."""
    result = run("import", EXPORT, "--to", tmp_path / "records")
    assert result.exit_code == 0
    assert "capture next" in result.stdout
    record = json.loads((tmp_path / "records/ups-room-1.json").read_bytes())
    assert record["schema"] == "witnessmark/card-1"
    assert (tmp_path / "records/ups-room-1.json").stat().st_mode & 0o777 == 0o600
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_what_was_imported_can_be_audited(tmp_path: Path) -> None:
    """The folder that an import wrote is an estate."""
    run("import", EXPORT, "--to", tmp_path)
    assert run("audit", tmp_path, "--as-of", "2026-11-25").exit_code == 1


def test_an_export_can_be_audited_directly() -> None:
    """Audit recognises other sources by their content."""
    assert run("audit", EXPORT, "--as-of", "2026-11-25").exit_code == 1


def test_a_record_is_never_replaced_unasked(tmp_path: Path) -> None:
    """A second import is refused, and --replace allows it."""
    run("import", EXPORT, "--to", tmp_path)
    before = (tmp_path / "ups-room-1.json").read_bytes()
    refused = run("import", EXPORT, "--to", tmp_path)
    assert refused.exit_code == 2
    assert "--replace" in refused.stderr
    assert (tmp_path / "ups-room-1.json").read_bytes() == before
    assert run("import", EXPORT, "--to", tmp_path, "--replace").exit_code == 0


def test_a_source_without_a_card_is_a_fault(tmp_path: Path) -> None:
    """An empty folder or an empty sheet imports nothing, and that is no success."""
    (tmp_path / "empty").mkdir()
    sheet = tmp_path / "sheet.csv"
    sheet.write_text(run("import", "--template", "sheet").stdout, "utf-8")
    for source, problem in ((tmp_path / "empty", "nothing to import below this folder"), (sheet, "card")):
        result = run("import", source, "--to", tmp_path / "out")
        assert result.exit_code == 2
        assert result.stderr.startswith(f"{source}: ")
        assert problem in result.stderr
    assert not (tmp_path / "out").exists()


def test_a_bad_source_gives_exit_code_2_and_the_rest_is_written(tmp_path: Path) -> None:
    """A source that can't be used costs only itself."""
    broken = tmp_path / "broken.xml"
    broken.write_bytes(EXPORT.read_bytes()[:900])
    result = run("import", broken, EXPORT, "--to", tmp_path / "out")
    assert result.exit_code == 2
    assert "broken.xml" in result.stderr
    assert (tmp_path / "out/ups-room-1.json").exists()


def test_a_map_imports_a_site_s_own_export(tmp_path: Path) -> None:
    """Every sample of the card family becomes a record by its map."""
    result = run("import", *SAMPLES, "--map", MAP, "--to", tmp_path)
    assert result.exit_code == 0, result.output
    assert len(list(tmp_path.glob("*.json"))) == len(SAMPLES)


def test_a_map_is_checked_against_a_sample() -> None:
    """The check says what was taken, and fits the terminal."""
    result = run("map", "check", MAP, "--sample", SAMPLES[0])
    assert result.exit_code == 0, result.output
    assert max(map(len, result.stdout.splitlines())) <= 80


def test_a_map_is_drafted_from_a_sample() -> None:
    """The draft is a map in TOML to start from."""
    result = run("map", "draft", SAMPLES[0])
    assert result.exit_code == 0, result.output
    assert "[map]" in result.stdout


def test_the_empty_sheet_is_printed() -> None:
    """--template sheet prints the heading of an empty sheet."""
    result = run("import", "--template", "sheet")
    assert result.exit_code == 0
    assert result.stdout.startswith("card.id")


def test_sources_without_a_folder_are_refused() -> None:
    """The command asks for --to."""
    assert run("import", EXPORT).exit_code == 2


def test_nothing_is_written_where_one_record_must_stay(tmp_path: Path) -> None:
    """The last of several targets is there already: refused before the first is written."""
    run("import", SAMPLES[-1], "--map", MAP, "--to", tmp_path)
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    refused = run("import", *SAMPLES, "--map", MAP, "--to", tmp_path)
    assert refused.exit_code == 2
    assert "there is a record already; nothing was written" in refused.stderr
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_folder_that_cannot_be_made_is_one_worded_fault(tmp_path: Path) -> None:
    """A file stands where the folder should: exit code 2, no fault of ours."""
    (tmp_path / "file").write_bytes(b"")
    for folder in ("file", "file/inner"):
        result = run("import", EXPORT, "--to", tmp_path / folder)
        assert result.exit_code == 2
        assert result.stderr.startswith(f"{tmp_path / folder}: ")
        assert len(result.stderr.splitlines()) == 2


def test_the_next_step_names_the_folder(tmp_path: Path) -> None:
    """The command to go on with can be run as it stands."""
    folder = tmp_path / "my records"
    result = run("import", EXPORT, "--to", folder)
    assert f"witnessmark audit '{folder}'" in " ".join(result.stdout.split())
