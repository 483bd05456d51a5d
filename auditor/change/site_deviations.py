"""Which file of deviations a run takes, if any, and its bytes. Knows nothing of what stands in it."""

from pathlib import Path
from typing import TYPE_CHECKING

from auditor.errors import Fault, RulesetError
from auditor.rules.program import Program

if TYPE_CHECKING:
    from auditor.scoring.deviation import DeviationSet


def load_deviations(asked: str | None, program: Program) -> "DeviationSet | None":
    """Return the deviations of the file asked for, else of the one that the site names, else None.

    A path in a site's file is relative to that file.

    Raises:
        RulesetError: if the file can't be read, or with every fault of it.
    """
    tailoring = program.tailoring
    named = str(Path(tailoring.file).parent / tailoring.deviations) if tailoring.deviations else None
    path = asked or named
    if path is None:
        return None
    from auditor.change.deviation_file import read_deviations  # many runs have no deviations

    return read_deviations(_read(path), path, program)


def _read(path: str) -> bytes:
    try:
        return Path(path).read_bytes()
    except OSError as error:
        problem = f"can't be read: {(error.strerror or 'unknown fault').lower()}"
        raise RulesetError([Fault(path, "", 0, 0, problem, "Check the path and its permissions.")]) from error
