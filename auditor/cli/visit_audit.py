"""The audit of the cards of a visit, and how they stand to their marks: what a procedure does not say."""

from auditor.change.drift import CardDrift, drift_of
from auditor.change.gate import Terms
from auditor.change.mark import read_mark
from auditor.cli.reports import estate_sums
from auditor.cli.visit import Visited
from auditor.fleet.audit import acceptance_of, audit_records, hold_band, sum_up
from auditor.fleet.estate import EstateSummary
from auditor.fleet.passphrases import passphrases_in
from auditor.fleet.reuse import Reuse
from auditor.intake.mark_files import mark_path, mark_text
from auditor.intake.site_key import read_key_file
from auditor.record.reading import Record
from auditor.report.drift_view import Drift
from auditor.report.writer import Run
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.band import Band


def audited(
    found: Visited, run: Run, hold_at: Band | None
) -> tuple[tuple[CardAssessment, ...], EstateSummary]:
    """Return the assessments of the cards of a visit, in its order, and the sums of the run."""
    program, context, given = found.program, found.context, found.deviations
    acceptance = acceptance_of(given, context.as_of, whole_estate=False) if given else None
    reuse = Reuse(passphrases_in(context))
    records = reuse.watch(plan.record for plan in found.plans)
    held_at = hold_band(hold_at, program)
    sums = estate_sums(run, held_at)
    cards: list[CardAssessment] = []
    summary = sum_up(
        audit_records(records, program, context), sums, [cards.append], reuse=reuse, acceptance=acceptance
    )
    return tuple(cards), summary


def drifted(found: Visited, marks: str, key_file: str | None) -> Drift:
    """Return how the cards of a visit stand to their marks in a folder, which need not be there.

    Raises:
        RecordError: if a mark is there and can't be used.
        InputError: if the key can't.
    """
    key = read_key_file(key_file) if key_file else None
    terms = Terms(found.program, found.context, Band.MEDIUM)
    return Drift(tuple(_drift(plan.record, marks, terms, key) for plan in found.plans), ())


def _drift(record: Record, marks: str, terms: Terms, key: bytes | None) -> CardDrift:
    text = mark_text(marks, record.card_id)
    file = str(mark_path(marks, record.card_id))
    mark = read_mark(text, file, key) if text is not None else None
    return drift_of(record, mark, terms, key)
