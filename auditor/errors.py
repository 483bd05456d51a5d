"""The errors that a user can meet; every other exception is a fault of ours.

    AuditorError
    ├── InputError        one or more faults in a file that a user gave
    │   ├── RecordError   … in a record
    │   └── RulesetError  … in a ruleset or in a site's own file
    └── OutputError       a report could not be written

Holds no wording of particular faults: the code that finds a fault words it.
"""

from collections.abc import Sequence

from auditor.dataclass import dataclass


@dataclass(frozen=True, slots=True)
class Fault:
    """One fault in a file: where, what, and what to do.

    ``line`` and ``column`` start at 1; 0 means that there is none. ``pointer`` is a JSON
    Pointer (RFC 6901), empty for the whole document. ``problem`` says what was found and what
    is allowed, ``remedy`` what to do; neither ever holds the value of a secret.
    """

    file: str
    pointer: str
    line: int
    column: int
    problem: str
    remedy: str

    def __str__(self) -> str:
        """Word the fault in two lines: place and problem, then the remedy."""
        place = ":".join([self.file, *(str(n) for n in (self.line, self.column) if n)])
        at = f" {self.pointer}:" if self.pointer else ""
        return f"{place}:{at} {self.problem}\n  {self.remedy}"


class AuditorError(Exception):
    """Root of every error that a user can meet."""


class InputError(AuditorError):
    """A file that a user gave can't be used; ``faults`` are all of its faults, in file order."""

    def __init__(self, faults: Sequence[Fault]) -> None:
        """Keep all arguments in ``args``, so that the error survives pickling."""
        super().__init__(tuple(faults))
        self.faults = tuple(faults)

    def __str__(self) -> str:
        """Word every fault, one after the other."""
        return "\n".join(str(fault) for fault in self.faults)


class RecordError(InputError):
    """A record can't be used."""


class RulesetError(InputError):
    """A ruleset, or a site's own file, can't be used."""


class OutputError(AuditorError):
    """A report could not be written; nothing was left half-written."""

    def __init__(self, file: str, problem: str, remedy: str) -> None:
        """Keep all arguments in ``args``, so that the error survives pickling."""
        super().__init__(file, problem, remedy)
        self.file, self.problem, self.remedy = file, problem, remedy

    def __str__(self) -> str:
        """Word the fault in two lines, as faults of input files are worded."""
        return f"{self.file}: {self.problem}\n  {self.remedy}"
