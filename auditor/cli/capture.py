"""``witnessmark capture``: ask at the terminal for the settings of a card, and write its record."""

import sys
import warnings
from collections.abc import Iterator
from contextlib import suppress
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from auditor.cli.terminal import ExitCode, guarded, say

if TYPE_CHECKING:
    from auditor.intake.dialogue import Dialogue, Question
    from auditor.record.settings import Settings

PLACE_ENDING = ".place"
"""What a record's name gets for the small file that says where its dialogue stopped."""

LONGEST_ANSWER = 1 << 20
"""Bytes of one answer that are read; our own figure."""


def capture(
    record: Annotated[
        str, typer.Argument(metavar="RECORD_FILE", help="The record to write, such as ups-07.json.")
    ],
    resume: Annotated[
        bool, typer.Option("--resume", help="Go on with a record that is there: ask what it does not know.")
    ] = False,
) -> None:
    """Ask for the settings of a card, one by one, and write its record.

    Every answer is checked and saved at once. Secrets are typed unseen and kept as you choose.
    Answer ? for an explanation, stop to stop; --resume goes on where you stopped.
    """
    raise typer.Exit(guarded(partial(_capture, record, resume=resume)))


def _capture(file: str, *, resume: bool) -> ExitCode:
    from auditor.intake.dialogue import COMMANDS, begin, converse
    from auditor.report.worksheet import SAFETY

    settings, at = _resumed(file) if resume else (_new(file), "")
    dialogue = begin(settings, lambda: datetime.now(UTC), at)
    save = partial(_save, file)
    save(dialogue)
    say("\n".join([*SAFETY, "", *(f"{command} {effect}." for command, effect in COMMANDS.items())]))
    end = converse(dialogue, _Asker().ask, say, save)
    if end.question() is None:
        Path(file + PLACE_ENDING).unlink(missing_ok=True)
        say(f"Nothing is left to ask. The record is in {file}.")
    else:
        say(f"Stopped; the record in {file} is not complete. Go on with --resume.")
    return ExitCode.RELEASED


def _new(file: str) -> "Settings":
    """Return the beginning of a record, named after its file.

    Raises:
        OutputError: if the file is there.
        InputError: if its name gives no card id.
    """
    from auditor.errors import Fault, InputError, OutputError, RecordError
    from auditor.intake.imported import id_from_name
    from auditor.record.reading import read_record

    if Path(file).exists():
        raise OutputError(
            file, "this file is there already", "Add --resume to go on with it, or choose another name."
        )
    settings = {"card": {"id": id_from_name(file)}, "capture": {"method": "by_hand"}}
    try:
        read_record(_written(settings), file)
    except RecordError as error:
        remedy = "Name the file after the card, with letters, digits and . _ : @ -, such as ups-07.json."
        raise InputError(
            [Fault(file, "/card/id", 0, 0, "the file's name gives no card id", remedy)]
        ) from error
    return settings


def _resumed(file: str) -> "tuple[Settings, str]":
    """Return the record that is there, and the pointer at which its dialogue stopped.

    Raises:
        InputError: if either file can't be read.
    """
    from auditor.errors import InputError
    from auditor.intake.folder import unreadable
    from auditor.record.reading import raw_settings, read_record

    try:
        text = Path(file).read_bytes()
    except (OSError, ValueError) as error:
        raise InputError([unreadable(file, error)]) from error
    settings = raw_settings(read_record(text, file))
    settings.setdefault("capture", {}).setdefault("method", "by_hand")
    return settings, _place(file + PLACE_ENDING)


def _place(file: str) -> str:
    from auditor.errors import Fault, InputError
    from auditor.record.pointer import split

    try:
        with Path(file).open("rb") as stream:
            at = stream.read(LONGEST_ANSWER).decode("ascii").strip()
        split(at)
    except FileNotFoundError:
        return ""
    except (OSError, ValueError) as error:
        remedy = "Remove this file: the questions then begin with the first that is open."
        raise InputError([Fault(file, "", 0, 0, "does not say where a dialogue stopped", remedy)]) from error
    return at


def _save(file: str, dialogue: "Dialogue") -> None:
    from auditor.report.output import open_output

    # What was typed may hold secrets in clear.
    with open_output(file, owner_only=True) as stream:
        stream.write(_written(dialogue.record()))
    with open_output(file + PLACE_ENDING, owner_only=True) as stream:
        stream.write(f"{dialogue.at}\n".encode("ascii"))


def _written(settings: "Settings") -> bytes:
    import orjson

    from auditor.record.schema import SCHEMA_NAME

    record: dict[str, Any] = {"schema": SCHEMA_NAME, **settings}
    return orjson.dumps(record, option=orjson.OPT_INDENT_2 | orjson.OPT_APPEND_NEWLINE)


class _Asker:
    """Asks at the terminal; remembers only at which stop of the visit it is."""

    def __init__(self) -> None:
        self._stop = ""

    def ask(self, question: "Question") -> str | None:
        """Return the answer as typed, or None where there are no more."""
        if question.stop != self._stop:
            self._stop = question.stop
            say(f"\n== {question.stop}")
        say("\n".join(["", " > ".join(question.place), f"  {question.text}", *_hints(question)]))
        while True:
            try:
                return _unseen() if question.hidden else _typed()
            except UnicodeError:
                say("  That is no UTF-8 text. Type it again.")
            except (EOFError, KeyboardInterrupt):
                say("")
                return None


def _hints(question: "Question") -> Iterator[str]:
    from auditor.report.plain import plain

    if question.allowed:
        yield f"  Allowed: {question.allowed}"
    if question.known:
        yield f"  Recorded: {plain(question.known)}"


def _typed() -> str:
    sys.stderr.write("> ")
    sys.stderr.flush()
    line = sys.stdin.buffer.readline(LONGEST_ANSWER)
    if not line:
        raise EOFError
    return line.decode("utf-8").rstrip("\r\n")


def _unseen() -> str:
    """Return a secret; where the terminal can't keep it from the screen, nothing is asked."""
    if not sys.stdin.isatty():
        return _typed()
    import getpass  # every command loads this module, few ask for a secret

    with warnings.catch_warnings():
        warnings.simplefilter("error", getpass.GetPassWarning)
        with suppress(getpass.GetPassWarning):
            return getpass.getpass("> ", stream=sys.stderr)
    say("  This terminal can't hide what is typed: the secret stays unknown.")
    return ""
