"""The audit itself: records in, one assessment a card out, sums at the end. Prints nothing."""

import io
from collections.abc import Callable, Iterable, Iterator, Sequence
from datetime import UTC, datetime
from fnmatch import fnmatchcase
from typing import TYPE_CHECKING, Protocol

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError, RecordError
from auditor.facts.fact import Context
from auditor.fleet.choices import load_program
from auditor.fleet.context import context_of_run
from auditor.fleet.estate import EstateSummary, EstateSums
from auditor.fleet.passphrases import passphrases_in
from auditor.fleet.reuse import Reuse
from auditor.intake.records import read_records
from auditor.record.reading import Record
from auditor.rules.program import FEW_RECORDS, Program, sharing_of
from auditor.scoring.assessment import CardAssessment, Lasting, assess, context_of
from auditor.scoring.band import Band

if TYPE_CHECKING:
    from auditor.rules.sharing import Sharing
    from auditor.scoring.accepted import Acceptance
    from auditor.scoring.deviation import DeviationSet

DEFAULT_HOLD_AT = Band.MEDIUM


@dataclass(frozen=True, slots=True)
class Audited:
    """An audited estate: every card in the order of the input, what was unusable, the sums."""

    cards: tuple[CardAssessment, ...]
    errors: tuple[RecordError, ...]
    summary: EstateSummary


def audit(
    paths: Sequence[str], program: Program | None = None, *,
    as_of: datetime | None = None, hold_at: Band | None = None, deviations: "DeviationSet | None" = None,
) -> Audited:  # fmt: skip
    """Audit files and folders of records and keep every assessment.

    Without a program, the shipped rulesets judge; without ``as_of`` (an aware datetime), the
    moment is now. What ``deviations`` cover is marked, and does not hold. For an estate too
    large to keep, use ``audit_stream``.

    Raises:
        RulesetError: if the shipped rulesets can't be read.
    """
    used = program or load_program()
    context = context_of_run(as_of or datetime.now(UTC), used.tailoring.word_list)
    acceptance = acceptance_of(deviations, context.as_of) if deviations else None
    reuse = Reuse(passphrases_in(context))
    found = list(audit_records(reuse.watch(read_records(paths, io.BytesIO())), used, context))
    sums, cards = EstateSums(used, hold_band(hold_at, used)), list[CardAssessment]()
    summary = sum_up(found, sums, [cards.append], reuse=reuse, acceptance=acceptance)
    errors = tuple(item for item in found if isinstance(item, RecordError))
    return Audited(tuple(cards), errors, summary)


def acceptance_of(deviations: "DeviationSet", as_of: datetime, *, whole_estate: bool = True) -> "Acceptance":
    """Return what marks the cards of a run that some deviations cover; see ``Acceptance``."""
    from auditor.scoring.accepted import Acceptance  # many runs have no deviations

    return Acceptance(deviations, as_of, whole_estate=whole_estate)


def audit_stream(
    paths: Sequence[str], program: Program, *, as_of: datetime | None = None
) -> Iterator[CardAssessment | RecordError]:
    """Yield one assessment a record, or the error of a record that can't be used."""
    context = context_of_run(as_of or datetime.now(UTC), program.tailoring.word_list)
    return audit_records(read_records(paths, io.BytesIO()), program, context)


class Memory(Protocol):
    """What is known of records from earlier runs, and takes what becomes known in this one."""

    def recall(self, record: Record) -> Lasting | None:
        """Return what lasts of an assessment of the very same record; None where it is a new one."""

    def note(self, record: Record, assessment: CardAssessment) -> None:
        """Take what is said of a record, new or known."""


def audit_records(
    records: Iterable[Record | RecordError], program: Program, context: Context, *,
    located: bool = False, memory: Memory | None = None,
) -> Iterator[CardAssessment | RecordError]:  # fmt: skip
    """Yield one assessment a record, in order; what can't be used goes through as it came.

    ``located`` assessments know where their findings stand in the file, which takes its time.
    With a ``memory``, only what may have changed since is judged again.
    """
    finish = _locating() if located else _as_it_is
    contexts: dict[bool | None, Context] = {None: context}
    sharings: dict[bool | None, Sharing] = {}
    for number, record in enumerate(records):
        if isinstance(record, RecordError):
            yield record
        else:
            lies = record.in_work_tree
            there = contexts.get(lies) or contexts.setdefault(lies, context_of(record, context))
            known: Lasting | Sharing | None = memory.recall(record) if memory else None
            if known is None and number >= FEW_RECORDS:
                known = sharings.get(lies) or sharings.setdefault(lies, sharing_of(program, there))
            assessment = assess(record, program, there, compiled=number >= FEW_RECORDS, known=known)
            if memory:
                memory.note(record, assessment)
            yield finish(record, assessment)


def _as_it_is(_record: Record, assessment: CardAssessment) -> CardAssessment:
    return assessment


def _locating() -> Callable[[Record, CardAssessment], CardAssessment]:
    from auditor.scoring.locating import locate  # most formats need no places

    return locate


class CardChoice:
    """The cards that a user chose by patterns of their ids; no pattern chooses all."""

    def __init__(self, patterns: Sequence[str]) -> None:
        """Start with no record seen."""
        self._patterns = tuple(patterns)
        self._seen = 0
        self._example = ""

    def among(self, records: Iterable[Record | RecordError]) -> Iterator[Record | RecordError]:
        """Yield the records whose card is chosen, and all errors, counting what goes by."""
        for record in records:
            self._seen += 1
            if isinstance(record, RecordError):
                yield record
                continue
            self._example = self._example or record.card_id
            if self._fits(record.card_id):
                yield record

    def refuse_none(self, summary: EstateSummary) -> None:
        """Refuse a choice that left nothing to audit.

        Raises:
            InputError: if there are patterns and no card was audited, with what else was unusable.
        """
        if summary.whole.cards or not self._patterns:
            return
        patterns = " or ".join(f"'{pattern}'" for pattern in self._patterns)
        were = "1 record was" if self._seen == 1 else f"{self._seen} records were"
        example = f" An id among them: {self._example}." if self._example else ""
        remedy = f"Correct the pattern: * stands for any letters, ? for one.{example}"
        problem = f"no card id matches {patterns}; {were} read"
        raise InputError([*summary.faults, Fault("--only-cards", "", 0, 0, problem, remedy)])

    def _fits(self, card_id: str) -> bool:
        return not self._patterns or any(fnmatchcase(card_id, pattern) for pattern in self._patterns)


def sum_up(
    assessments: Iterable[CardAssessment | RecordError], sums: EstateSums,
    takers: Sequence[Callable[[CardAssessment], None]] = (), *,
    reuse: Reuse | None = None, acceptance: "Acceptance | None" = None,
) -> EstateSummary:  # fmt: skip
    """Hand each assessment to the takers, add everything up, and return the sums.

    ``reuse`` watched the records on their way to be assessed; ``acceptance`` marks here what
    deviations cover. Nothing of a card is kept but what the sums and these need, so memory
    hardly grows with the estate.
    """
    for assessment in acceptance.watch(assessments) if acceptance else assessments:
        if isinstance(assessment, RecordError):
            sums.add_unusable(assessment.faults)
            continue
        sums.add(assessment)
        for take in takers:
            take(assessment)
    return sums.summary(reuse, acceptance)


def hold_band(asked: Band | None, program: Program) -> Band:
    """Return the band at which a run is held: what was asked, else the site's, else medium."""
    return Band(asked or program.tailoring.hold_at or DEFAULT_HOLD_AT)
