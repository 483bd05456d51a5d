"""No run opens a network connection or starts a process, shown by the interpreter's own audit events.

Source: PEP 578; the list of events is in the Python documentation, "Audit events table".
"""

import json
import socket
import sys
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import pytest
from typer.testing import CliRunner

import auditor
from auditor.cli.main import app
from auditor.report.drift_formats import DRIFT_FORMATS
from auditor.report.formats import FORMATS
from auditor.report.gate_formats import GATE_FORMATS
from tests.intake.git_repository import commit, git, needs_git, repository

CARDS: Final = Path(__file__).parent.parent / "fixtures" / "cards"
AS_OF: Final = datetime(2026, 11, 25, 12, tzinfo=UTC)

FORBIDDEN: Final = (
    "socket.", "ssl.", "urllib.", "http.", "ftplib.", "smtplib.", "imaplib.", "poplib.", "telnetlib.",
    "webbrowser.", "subprocess.", "pty.", "os.system", "os.exec", "os.posix_spawn", "os.spawn",
    "os.startfile", "os.fork",
)  # fmt: skip

_seen: list[str] = []
_watching: list[bool] = []


def _note(event: str, _arguments: object) -> None:
    if _watching and event.startswith(FORBIDDEN):
        _seen.append(event)


# A hook can't be taken away again; outside `watched` it notes nothing.
sys.addaudithook(_note)


@contextmanager
def watched() -> Iterator[list[str]]:
    """Give the list of forbidden events that happen inside."""
    _seen.clear()
    _watching.append(True)
    try:
        yield _seen
    finally:
        _watching.clear()


@pytest.fixture(scope="module")
def estate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a good card, a bad one that names many hosts, and a file that is no record."""
    folder = tmp_path_factory.mktemp("estate")
    text = (CARDS / "compliant.json").read_text(encoding="utf-8")
    (folder / "good.json").write_text(text, encoding="utf-8")
    (folder / "bad.json").write_text(json.dumps(_spoilt(json.loads(text))), encoding="utf-8")
    (folder / "broken.json").write_text('{"card": ', encoding="utf-8")
    return folder


def _spoilt(record: dict[str, object]) -> dict[str, object]:
    record["card"] = {"id": "spoilt-card", "site": "north.example"}
    record["services"] = {"telnet": {"enabled": True}, "http": {"enabled": True}}
    record["mail"] = {"server": "mail.example.org"}
    record["accounts"] = []
    return record


def test_the_watch_sees_a_socket_and_a_process() -> None:
    """Were there a connection or a process, these tests would tell; an unbound socket reaches nobody."""
    with watched() as events:
        socket.socket().close()
        sys.audit("subprocess.Popen", "nothing", [], None, None)
        sys.audit("os.posix_spawn", "nothing", [], {})
    assert events == ["socket.__new__", "subprocess.Popen", "os.posix_spawn"]


def test_the_watch_sees_nothing_in_work_on_files(tmp_path: Path) -> None:
    """Reading and writing files is not what is forbidden."""
    with watched() as events:
        (tmp_path / "file").write_text("x", encoding="utf-8")
    assert events == []


@pytest.mark.parametrize("name", FORMATS)
def test_an_audit_is_offline_in_every_format(estate: Path, tmp_path: Path, name: str) -> None:
    """Audit a folder with findings and a broken record, to a file in each format."""
    output = tmp_path / "report"
    with watched() as events:
        run = _run(["audit", str(estate), "--format", name, "--output", str(output), "--as-of", "2026-11-25"])
    assert (events, run) == ([], 2)
    assert output.stat().st_size > 0


@pytest.mark.parametrize("name", FORMATS)
def test_an_audit_to_standard_output_is_offline(estate: Path, name: str) -> None:
    """The same at the terminal, where a run may look at what it writes to."""
    with watched() as events:
        run = _run(["audit", str(estate / "bad.json"), "--format", name, "--as-of", "2026-11-25"])
    assert (events, run) == ([], 1)


@pytest.mark.parametrize(
    "arguments",
    [["rules"], ["rules", "show", "telnet-enabled"], ["--help"], ["--version"], ["audit", "--help"]],
)
def test_looking_at_rules_and_help_is_offline(arguments: Sequence[str]) -> None:
    """The commands that audit nothing."""
    with watched() as events:
        run = _run(arguments)
    assert (events, run) == ([], 0)


IMPORTS: Final = CARDS.parent / "imports"
MAP: Final = str(IMPORTS / "maps" / "card-family-a.toml")
EXPORT: Final = str(IMPORTS / "maps" / "card-family-a" / "wvl-ups-store.xml")


@pytest.mark.parametrize(
    "source",
    [
        [EXPORT, "--map", MAP],
        [str(IMPORTS / "netconf" / "ups-room-1.xml")],
        [str(IMPORTS / "netconf" / "ups-room-1.json")],
        [str(IMPORTS / "redfish" / "invented")],
    ],
)
def test_an_import_is_offline(tmp_path: Path, source: list[str]) -> None:
    """Exports by a map, NETCONF and RESTCONF data, and a Redfish capture, which is full of links."""
    with watched() as events:
        imported = _run(["import", *source, "--to", str(tmp_path)])
        audited = _run(["audit", *source, "--as-of", "2026-11-25"])
    assert (events, imported, audited) == ([], 0, 1)
    assert list(tmp_path.glob("*.json"))


@pytest.mark.parametrize("name", ["html", "markdown", "csv"])
def test_a_worksheet_is_offline_both_ways(tmp_path: Path, name: str) -> None:
    """The form is written, and the one that can be filled in is imported again."""
    form = tmp_path / "form.csv"
    with watched() as events:
        written = _run(["worksheet", str(CARDS / "compliant.json"), "--format", name, "--output", str(form)])
        read = _run(["import", str(form), "--to", str(tmp_path)]) if name == "csv" else 0
    assert (events, written, read) == ([], 0, 0)


@pytest.mark.parametrize(
    "arguments",
    [
        ["map", "check", MAP, "--sample", EXPORT],
        ["map", "draft", EXPORT],
        ["import", "--template", "sheet"],
        ["import", "--help"],
        ["map", "--help"],
        ["worksheet", "--help"],
        ["capture", "--help"],
    ],
)
def test_maps_and_templates_are_offline(arguments: Sequence[str]) -> None:
    """A map tried on a sample, a map drafted, an empty sheet."""
    with watched() as events:
        run = _run(arguments)
    assert (events, run) == ([], 0)


def test_a_capture_is_offline(tmp_path: Path) -> None:
    """A dialogue with two answers and a stop, and its resumption."""
    record = str(tmp_path / "ups-07.json")
    with watched() as events:
        begun = CliRunner().invoke(app, ["capture", record], input="?\nskip\nstop\n").exit_code
        resumed = CliRunner().invoke(app, ["capture", record, "--resume"], input="stop\n").exit_code
    assert (events, begun, resumed) == ([], 0, 0)


@needs_git
@pytest.mark.parametrize("name", GATE_FORMATS)
def test_a_gate_is_offline(tmp_path: Path, name: str) -> None:
    """Two files, and a revision read from the objects of a repository with a remote."""
    top = repository(tmp_path / "clone")
    git(top, "remote", "add", "origin", "https://forge.example/records.git")
    record = top / "card.json"
    record.write_bytes((CARDS / "compliant.json").read_bytes())
    commit(top)
    record.write_text(json.dumps(_spoilt(json.loads(record.read_bytes()))), encoding="utf-8")
    choices = ["--format", name, "--as-of", "2026-11-25"]
    with watched() as events:
        files = _run(["gate", str(CARDS / "compliant.json"), str(record), *choices])
        revision = _run(["gate", "--against", "HEAD", str(top), *choices])
    assert (events, files, revision) == ([], 1, 1)


@pytest.mark.parametrize("name", DRIFT_FORMATS)
def test_marks_and_drift_are_offline(estate: Path, tmp_path: Path, name: str) -> None:
    """Marked with a key, and looked at in each format, with records that can't be used beside."""
    key, marks = str(tmp_path / "key"), str(tmp_path / "marks")
    with watched() as events:
        made = _run(["seal", "--new-key", key])
        marked = _run(["mark", str(estate), "--by", "N. Adeyemi", "--to", marks, "--key", key])
        drifted = _run(["drift", str(estate), "--marks", marks, "--key", key, "--format", name])
    assert (events, made, marked, drifted) == ([], 0, 2, 2)


def test_checking_a_file_of_rules_is_offline(tmp_path: Path) -> None:
    """A faulty file, so that the slow wording of faults runs too."""
    file = tmp_path / "own.toml"
    file.write_text('[ruleset]\nname = "own"\n', encoding="utf-8")
    with watched() as events:
        run = _run(["rules", "check", str(file)])
    assert (events, run) == ([], 2)


def test_the_public_functions_are_offline(estate: Path) -> None:
    """The same as the command line, through Python."""
    with watched() as events:
        audited = auditor.audit([str(estate)], auditor.load_program(), as_of=AS_OF)
    assert events == []
    assert len(audited.cards) == 2


def _run(arguments: Sequence[str]) -> int:
    return CliRunner().invoke(app, list(arguments)).exit_code
