"""What a run reads, so that no output of it takes the place of an input. Writes nothing."""

import os
from collections.abc import Iterable, Iterator, Sequence

from auditor.errors import OutputError
from auditor.intake.folder import RECORD_ENDINGS, is_folder, record_files
from auditor.intake.source import STANDARD_INPUT

_PROBLEM = "this is one of the inputs"
_REMEDY = "Choose another file: a report never takes the place of what it is made from."


def refuse_overwriting(outputs: Iterable[str], inputs: Sequence[str]) -> None:
    """Refuse outputs that would overwrite an input, or a record below a folder of the inputs.

    Raises:
        OutputError: for the first such output.
    """
    there = {output: os.path.realpath(output) for output in outputs if os.path.isfile(output)}  # noqa: PTH113 - a name may hold what no name can
    if not there:
        return
    named = [path for path in inputs if path != STANDARD_INPUT]
    taken = {os.path.realpath(path) for path in named}
    if any(target.lower().endswith(RECORD_ENDINGS) for target in there.values()):
        taken.update(_records_below(named))
    for output, target in there.items():
        if target in taken:
            raise OutputError(output, _PROBLEM, _REMEDY)


def _records_below(paths: Iterable[str]) -> Iterator[str]:
    for path in filter(is_folder, paths):
        yield from (os.path.realpath(found) for found in record_files(path) if isinstance(found, str))
