"""The terminal: how wide it is, whether it takes colour, and what ends a run."""

import os
import shutil
import sys
import traceback
from collections.abc import Callable
from enum import IntEnum
from pathlib import Path

from auditor.cli.standard_output import let_go
from auditor.errors import AuditorError
from auditor.report.writer import Look


class ExitCode(IntEnum):
    """What a run says to the program that started it."""

    RELEASED = 0
    HELD = 1
    UNUSABLE = 2
    OUR_FAULT = 3
    INTERRUPTED = 130


_REPORT_IT = "Report it with these words; no report was written."


def is_at_terminal() -> bool:
    """Return whether people see standard output at once."""
    return sys.stdout is not None and sys.stdout.isatty()


def look_of_stdout() -> Look:
    """Return how text on standard output may look; where people see talk too, it tells no fault."""
    width = shutil.get_terminal_size((80, 24)).columns
    seen = is_at_terminal()
    return Look(width, colour=seen and "NO_COLOR" not in os.environ, tells_faults=seen)


def say(text: str) -> None:
    """Talk: print to standard error, which is never part of a result.

    Where nobody listens any more, nothing is said, and the run goes on.
    """
    try:
        sys.stderr.write(text + "\n")
    except OSError:
        let_go(sys.stderr)


def guarded(command: Callable[[], ExitCode]) -> ExitCode:
    """Run a command; turn what a user can meet, and our own faults, into words and exit codes.

    A fault of ours is named by its kind and place only: its message may hold what a record
    holds, and so may a traceback.
    """
    try:
        return command()
    except AuditorError as error:
        say(str(error))
        return ExitCode.UNUSABLE
    except KeyboardInterrupt:
        say("Interrupted; no report was written.")
        return ExitCode.INTERRUPTED
    except Exception as error:  # noqa: BLE001 - the last door before the user
        frame = traceback.extract_tb(error.__traceback__)[-1]
        place = f"{Path(frame.filename).name}:{frame.lineno}"
        say(f"A fault of ours: {type(error).__name__} at {place}.\n  {_REPORT_IT}")
        return ExitCode.OUR_FAULT
