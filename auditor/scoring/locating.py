"""Looks up where the findings of a card stand in its file, for formats that ask for it.

Walks through the text of the record once more, in Python: about as slow as a whole audit of it.
"""

from collections.abc import Iterable, Mapping

from auditor.dataclass import replace
from auditor.record.position import Place, Span, spans
from auditor.record.reading import Record
from auditor.scoring.assessment import CardAssessment, Finding
from auditor.scoring.identity import identities
from auditor.scoring.located import Located, upwards

CARD_ID = "/card/id"


def locate(record: Record, assessment: CardAssessment) -> CardAssessment:
    """Return a card with its findings located in the file of its record."""
    known = tuple(each.fingerprint for each in identities(record.settings, assessment.findings))
    found = {} if record.is_made else _spans(record, assessment)
    return replace(assessment, located=Located(known, found))


def pointers_of(finding: Finding) -> tuple[str, ...]:
    """Return the settings that a finding is about: those that decided, else the member."""
    decided = dict.fromkeys(each.pointer for each in finding.evidence if each.pointer)
    return tuple(decided) or (finding.pointer,)


def located_at(record: Record, pointers: Iterable[str]) -> Located:
    """Return where settings of a record stand in its file, without any finding."""
    return Located((), {} if record.is_made else _places(record, pointers))


def _spans(record: Record, assessment: CardAssessment) -> Mapping[str, Span]:
    return _places(record, (pointer for finding in assessment.findings for pointer in pointers_of(finding)))


def _places(record: Record, pointers: Iterable[str]) -> Mapping[str, Span]:
    wanted = {around for pointer in {*pointers, CARD_ID} for around in upwards(pointer)}
    found = spans(record.text.reveal(), wanted)
    return {pointer: _from_line(span, record.line) for pointer, span in found.items()}


def _from_line(span: Span, line: int) -> Span:
    (first, left), (last, right) = span
    return Span(Place(first + line - 1, left), Place(last + line - 1, right))
