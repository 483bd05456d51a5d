"""``witnessmark capture`` at its edges: the terminal, the files, stopping and going on, no secret shown."""

import json
import os
import pty
import signal
import sys
from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from auditor.cli.main import app
from auditor.intake.dialogue import begin
from tests.intake.sitting import Knower
from tests.record.mutations import compliant

SECRET = "Violet-harbour-91"  # noqa: S105 - a secret made up for these tests


def run(file: Path, *answers: str, resume: bool = False) -> Result:
    """Run the command in this process, with these lines typed."""
    typed = "".join(f"{text}\n" for text in answers)
    return CliRunner().invoke(app, ["capture", str(file), *(["--resume"] if resume else [])], input=typed)


def record(file: Path) -> dict[str, Any]:
    """Return the record that was written."""
    settings: dict[str, Any] = json.loads(file.read_text("utf-8"))
    return settings


def test_answers_become_a_record(tmp_path: Path) -> None:
    """The card is named after the file; answers are recorded; standard output stays empty."""
    file = tmp_path / "ups-07.json"
    result = run(file, "yes", "no", "stop")
    assert (result.exit_code, result.stdout) == (0, "")
    assert record(file) == {
        "schema": "witnessmark/card-1",
        "card": {"id": "ups-07"},
        "capture": {"method": "by_hand"},
        "services": {"serial_console": {"enabled": True, "requires_login": False}},
    }
    assert "== At the equipment: labels and serial console" in result.stderr
    assert f"the record in {file} is not complete" in result.stderr


def test_cautions_come_first(tmp_path: Path) -> None:
    """Local codes and licensed practice, people, output switching and life safety, before any question."""
    said = run(tmp_path / "ups-07.json", "stop").stderr
    assert said.index("licensed practice") < said.index("switch off the load") < said.index("Serial console")


def test_a_wrong_answer_is_told_and_asked_again(tmp_path: Path) -> None:
    """The error says what is allowed, and the next answer counts."""
    file = tmp_path / "ups-07.json"
    result = run(file, "perhaps", "yes", "stop")
    assert "Expected yes or no." in result.stderr
    assert record(file)["services"] == {"serial_console": {"enabled": True}}


def sitting(file: Path, sizes: list[int]) -> None:
    """Answer for the compliant card in sittings of so many answers, each a run of its own."""
    answers = _all_answers()
    for number, size in enumerate(sizes):
        part = [next(answers, "") for _ in range(size)]
        assert run(file, *part, resume=number > 0).exit_code == 0


def _all_answers() -> Iterator[str]:
    """Yield what somebody types who knows the compliant card."""
    from datetime import UTC, datetime

    from auditor.intake.dialogue import answer

    knower = Knower(compliant())
    known = {"card": {"id": "ups-07"}, "capture": {"method": "by_hand"}}
    dialogue = begin(known, lambda: datetime(2026, 11, 25, tzinfo=UTC))
    while (question := dialogue.question()) is not None:
        text = knower.answer(question)
        yield text
        dialogue = answer(dialogue, text).dialogue


def test_stop_and_resume_gives_the_same_record_as_one_sitting(tmp_path: Path) -> None:
    """Sittings that end anywhere, in the middle of a list or before a secret too, end in one record."""
    whole, parts = tmp_path / "one" / "ups-07.json", tmp_path / "many" / "ups-07.json"
    for file, sizes in ((whole, [2000]), (parts, [1, 60, 9, 17, 40, 3, 2000])):
        file.parent.mkdir()
        sitting(file, sizes)
    assert parts.read_bytes() == whole.read_bytes()
    assert record(whole)["accounts"] == compliant()["accounts"]
    assert list(tmp_path.rglob("*.place")) == []


def test_a_record_made_elsewhere_can_be_completed(tmp_path: Path) -> None:
    """Resume on an imported record asks what it does not know, and keeps the rest."""
    file = tmp_path / "ups-07.json"
    card = compliant()
    del card["services"]["serial_console"]["requires_login"]
    file.write_text(json.dumps(card), "utf-8")
    result = run(file, "no", "stop", resume=True)
    assert result.exit_code == 0
    card["services"]["serial_console"]["requires_login"] = False
    assert record(file) == card


def test_a_record_holds_secrets_so_nobody_else_may_read_it(tmp_path: Path) -> None:
    """Record and place are made for their owner alone, whatever the mask of the process."""
    before = os.umask(0o022)
    try:
        file = tmp_path / "ups-07.json"
        run(file, "yes", "stop")
        assert {path.stat().st_mode & 0o777 for path in tmp_path.iterdir()} == {0o600}
        assert len(list(tmp_path.iterdir())) == 2
    finally:
        os.umask(before)


def _there(file: Path) -> None:
    file.write_text("{}", "utf-8")


def _bad_place(file: Path) -> None:
    file.write_text(json.dumps({"schema": "witnessmark/card-1", "card": {"id": "a"}}), "utf-8")
    Path(f"{file}.place").write_bytes(b"\xff")


@pytest.mark.parametrize(
    ("name", "prepare", "resume", "said"),
    [
        ("ups-07.json", _there, False, "this file is there already\n  Add --resume"),
        ("ups-07.json", _there, True, "this member is missing"),
        ("ups-07.json", None, True, "can't be read: no such file"),
        ("ups-07.json", _bad_place, True, "does not say where a dialogue stopped\n  Remove this file"),
        ("_.json", None, False, "the file's name gives no card id"),
        ("none/ups-07.json", None, False, "there is no folder "),
    ],
)
def test_what_cant_be_used_is_told(
    name: str, prepare: Callable[[Path], None] | None, resume: bool, said: str, tmp_path: Path
) -> None:
    """Exit code 2, with the file and what to do; nothing is asked and nothing is replaced."""
    file = tmp_path / name
    if prepare:
        prepare(file)
    before = file.read_bytes() if file.exists() else None
    result = run(file, "yes", resume=resume)
    assert result.exit_code == 2
    assert said in result.stderr
    assert (file.read_bytes() if file.exists() else None) == before


def test_the_end_of_input_is_a_stop(tmp_path: Path) -> None:
    """A closed standard input keeps what was answered."""
    file = tmp_path / "ups-07.json"
    assert run(file, "yes").exit_code == 0
    assert record(file)["services"] == {"serial_console": {"enabled": True}}


def test_a_line_that_is_no_utf_8_is_asked_again(tmp_path: Path) -> None:
    """Bytes that are no text are told, and lose nothing."""
    file = tmp_path / "ups-07.json"
    result = CliRunner().invoke(app, ["capture", str(file)], input=b"\xff\xfe\nyes\n")
    assert "That is no UTF-8 text" in result.stderr
    assert record(file)["services"] == {"serial_console": {"enabled": True}}


def test_no_secret_is_in_any_output(tmp_path: Path) -> None:
    """Typed in the right place, in a wrong one or in a wrong form: a secret is never repeated."""
    file = tmp_path / "ups-07.json"
    result = run(
        file, "yes", "yes", SECRET, "localized", SECRET, "clear", SECRET, "back", "?", "back", "stop"
    )
    assert result.exit_code == 0
    assert SECRET not in result.output + result.stderr
    assert record(file)["services"]["serial_console"]["password"] == {"clear": SECRET}
    assert SECRET not in Path(f"{file}.place").read_text("ascii")


class Terminal:
    """A command at a pseudo-terminal: what it shows, and typing when it asks."""

    def __init__(self, *arguments: str) -> None:
        """Start the command; an interrupt reaches it even where these tests run in the background."""
        self.shown = b""
        self._process, self._terminal = pty.fork()
        if not self._process:
            signal.signal(signal.SIGINT, signal.SIG_DFL)
            os.execv(sys.executable, [sys.executable, "-m", "auditor", *arguments])  # noqa: S606 - our own command

    def type(self, text: str) -> None:
        """Wait until something is asked, then type a line."""
        asked = len(self.shown)
        while not self.shown[asked:].endswith(b"> "):
            self.shown += os.read(self._terminal, 1024)
        os.write(self._terminal, f"{text}\n".encode())

    def end(self) -> int:
        """Read to the end, and return the exit code."""
        try:
            while part := os.read(self._terminal, 1024):
                self.shown += part
        except OSError:
            pass  # what a terminal says on Linux when its other end is closed
        os.close(self._terminal)
        return os.waitstatus_to_exitcode(os.waitpid(self._process, 0)[1])


KEPT: Mapping[str, Mapping[str, object]] = {
    "clear": {"clear": SECRET},
    "length": {"sealed": {"length": len(SECRET)}},
}


@pytest.mark.parametrize("form", KEPT)
def test_a_terminal_never_shows_a_typed_secret(form: str, tmp_path: Path) -> None:
    """At a real terminal ordinary answers are echoed, a secret is not; it is kept as was chosen."""
    file = tmp_path / "ups-07.json"
    terminal = Terminal("capture", str(file))
    for text in ("yes", "no", form, SECRET, "stop"):
        terminal.type(text)
    assert terminal.end() == 0
    assert SECRET.encode() not in terminal.shown
    assert form.encode() + b"\r\n" in terminal.shown
    assert record(file)["services"]["serial_console"]["password"] == KEPT[form]


def test_an_interrupt_at_a_terminal_is_a_stop(tmp_path: Path) -> None:
    """The key for an interrupt keeps what was answered, before a secret too."""
    file = tmp_path / "ups-07.json"
    terminal = Terminal("capture", str(file))
    for text in ("yes", "no", "clear", "\x03"):
        terminal.type(text)
    assert terminal.end() == 0
    assert record(file)["services"] == {"serial_console": {"enabled": True, "requires_login": False}}
