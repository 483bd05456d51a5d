"""What every report writer is and gets; holds no format."""

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING, BinaryIO, Final, Protocol, TypeAlias

from auditor.dataclass import dataclass
from auditor.fleet.estate import EstateSummary
from auditor.rules.program import Program
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.xccdf import Model

if TYPE_CHECKING:
    from auditor.rules.crosswalk import Crosswalk
    from auditor.scoring.deviation import DeviationSet

TOOL = "witnessmark"


@dataclass(frozen=True, slots=True)
class Run:
    """What a report says of the run itself.

    ``as_of`` is the moment of the audit, with an offset. ``program`` holds the rulesets, the
    parameters in force and the site's tailoring. ``model`` is the scoring model asked for,
    beside the flat one that is always shown. ``crosswalks`` are empty where no format asked
    for them. ``formats`` are those that the run writes, where that is known. ``deviations`` are
    those that were given, None where none were: then no report speaks of them. ``ways`` tells
    whether json and ndjson list every card's ways in.
    """

    version: str
    as_of: datetime
    program: Program
    crosswalks: tuple["Crosswalk", ...]
    model: Model = Model.FLAT
    formats: frozenset[str] = frozenset()
    deviations: "DeviationSet | None" = None
    ways: bool = False


@dataclass(frozen=True, slots=True)
class Look:
    """How text for a terminal may look: columns, and whether colour is wanted.

    ``tells_faults`` is false where the faults of records are told beside it, on standard error:
    then the files are named only.
    """

    width: int = 80
    colour: bool = False
    tells_faults: bool = True

    @property
    def columns(self) -> int:
        """Return how many columns a table is given: never so few that nothing fits, nor too many to read."""
        return max(NARROWEST, min(self.width, _WIDEST))


NARROWEST: Final = 60
_WIDEST: Final = 120


class Writer(Protocol):
    """Takes assessments one by one, in the order of the input, then the sums."""

    def add(self, assessment: CardAssessment) -> None:
        """Take one card."""

    def finish(self, summary: EstateSummary) -> None:
        """Take the sums, and write what is left to write."""


WriterMaker: TypeAlias = Callable[[Run, BinaryIO, Look], Writer]
"""Makes a writer that writes UTF-8 to a stream, which its caller opens and closes."""
