"""What a handover pack says of one visit: its pages, and of each what stands in it. Holds no markup."""

import re
from collections.abc import Iterator, Sequence
from typing import Final

from auditor.dataclass import dataclass
from auditor.fleet.estate import EstateSummary
from auditor.record.reading import Record
from auditor.report.drift_view import Drift, sentence_of
from auditor.report.handover_deviations import CardDeviations, standing_counts
from auditor.report.verdict import counted, verdict
from auditor.report.visit_sheet import CardText, Sheet
from auditor.report.worksheet import Worksheet
from auditor.report.writer import Run
from auditor.scoring.assessment import CardAssessment

INDEX: Final = "index.html"
REPORT: Final = "report.html"
PROCEDURE: Final = "procedure.html"
DEVIATIONS: Final = "deviations.html"
MARKS: Final = "marks.html"

_OURS = re.compile(r"(?:index|report|procedure|deviations|marks|worksheet-[A-Za-z0-9._:@-]+)\.html")

SIGNATORIES: Final = (
    ("Prepared by", "who planned the visit and read all pages"),
    ("Agreed before the work", "who answers for the load, and holds the permit"),
    ("Work done by", "who did the steps and initialled them"),
    ("Checked by", "who did not do the work"),
    ("Taken over by", "who looks after the card from now on"),
)
"""Who signs a pack, and in which role. Source: common practice, no source."""

USE: Final = (
    "Read the report and the procedure before the visit; have the visit agreed to.",
    "Print what you take along. Each sheet names its cards, date and rules, so that none gets lost.",
    "At the equipment, follow the procedure step by step; read off what the worksheet asks for.",
    "Afterwards export the settings anew, audit them, mark what was approved, and sign below.",
)
"""What to do with a pack, in order. Source: common practice, no source."""


@dataclass(frozen=True, slots=True)
class Handover:
    """All that the pages of a pack are made from.

    The cards of the sheet, ``records``, ``assessments``, ``worksheets`` and ``deviations`` stand in
    one order. ``marks`` is the folder in which marks were looked for.
    """

    run: Run
    sheet: Sheet
    summary: EstateSummary
    records: tuple[Record, ...]
    assessments: tuple[CardAssessment, ...]
    worksheets: tuple[Worksheet, ...]
    deviations: tuple[CardDeviations, ...]
    drift: Drift
    marks: str

    @property
    def cards(self) -> tuple[CardText, ...]:
        """Return the cards of the visit."""
        return self.sheet.cards

    @property
    def card_ids(self) -> tuple[str, ...]:
        """Return the ids of the cards of the visit."""
        return tuple(card.id for card in self.sheet.cards)


@dataclass(frozen=True, slots=True)
class PageText:
    """One page of a pack: its file, what it is, and what stands in it in a sentence."""

    file: str
    title: str
    says: str


def is_ours(name: str) -> bool:
    """Return whether a file of this name may be a page of a pack."""
    return _OURS.fullmatch(name) is not None


def worksheet_file(card_id: str) -> str:
    """Return the name of a card's worksheet; an id has only letters, digits and ``._:@-``."""
    return f"worksheet-{card_id}.html"


def pages_of(handover: Handover) -> Iterator[PageText]:
    """Yield the pages after the index, in the order in which they are read."""
    found = verdict(handover.summary)
    yield PageText(REPORT, "Report of the audit", f"{found.word}: {found.reason}")
    yield PageText(PROCEDURE, "Method of procedure", procedure_sentence(handover.sheet))
    for worksheet in handover.worksheets:
        title = f"Worksheet of {worksheet.card_id}"
        yield PageText(worksheet_file(worksheet.card_id), title, _unknown(worksheet))
    yield PageText(DEVIATIONS, "Deviations", _accepted(handover))
    yield PageText(MARKS, "Marks and drift", sentence_of(handover.drift))


def procedure_sentence(sheet: Sheet) -> str:
    """Return how much a procedure asks for, in a sentence."""
    steps = sum(len(block.steps) for visit in sheet.visits for part in visit.parts for block in part.blocks)
    left = f"; {counted(len(sheet.left_out), 'step')} left out" if sheet.left_out else ""
    if not steps:
        return f"Nothing to do: no finding that a visit can mend{left}."
    minutes = sum(visit.minutes for visit in sheet.visits)
    restarts = counted(sum(visit.restarts for visit in sheet.visits), "restart")
    visits = counted(len(sheet.visits), "visit")
    return f"{counted(steps, 'step')} in {visits}, {minutes} min in all, {restarts}{left}."


def _unknown(worksheet: Worksheet) -> str:
    asked = questions(worksheet)
    return f"{counted(asked, 'setting')} to read off by hand." if asked else "Nothing is left to read off."


def questions(worksheet: Worksheet) -> int:
    """Return how many boxes a worksheet asks to be filled in."""
    tables = (table for part in worksheet.parts for section in part.sections for table in section.tables)
    return sum(bool(pointer) for table in tables for line in table.lines for pointer in line.pointers)


def _accepted(handover: Handover) -> str:
    given = handover.run.deviations
    if given is None:
        return "No file of deviations was given: nothing is accepted."
    return standing_counts(handover.deviations) or "None of the deviations of the file is about these cards."


def provenance(records: Sequence[Record]) -> Iterator[tuple[str, str, str]]:
    """Yield of each record its card, its file, and the SHA-256 of its text, hexadecimal.

    The digest is empty where the text holds a clear secret: who knows all the rest of it could
    try guesses on it.
    """
    for record in records:
        yield record.card_id, record.file, "" if record.holds_clear else record.digest
