"""A sweep of an audit: what is known of records beforehand, and what is kept of them in the store."""

import sqlite3
from datetime import UTC, datetime
from secrets import token_hex
from typing import TYPE_CHECKING

from auditor.dataclass import dataclass
from auditor.fleet.estate import EstateSummary
from auditor.history.appending import Draft
from auditor.history.card_result import card_result
from auditor.history.lasting_text import lasting_of, lasting_texts
from auditor.history.reading import store_id
from auditor.history.record_cache import RecordCache
from auditor.history.sweep import KeptDeviation, SharedGroup, Sweep
from auditor.record.reading import Record
from auditor.rules.program import Program
from auditor.scoring.assessment import CardAssessment, Lasting

if TYPE_CHECKING:
    from auditor.record.settings import Settings
    from auditor.scoring.deviation import DeviationSet

CAPTURE_PARAMETER = "capture_age_maximum_days"


@dataclass(frozen=True, slots=True)
class SweepHead:
    """What is said of a sweep before it begins.

    ``part`` names the part of the estate that it covers, ``version`` is that of the tool, and
    ``deviations`` are those in use, if any.
    """

    part: str
    as_of: datetime
    version: str
    deviations: "DeviationSet | None" = None


class Sweeping:
    """A sweep in the making: the memory of its audit, and what keeps each card, appended at the end.

    A card is kept (``take``) after it was judged (``note``) and before the next one is: in
    between, what deviations cover is marked.
    """

    def __init__(self, connection: sqlite3.Connection, cache: RecordCache, program: Program) -> None:
        """Begin with no card, in a store that is open to write."""
        self._draft = Draft(connection)
        self._origin = store_id(connection)
        self._cache = cache
        self._program = program
        self._settings: Settings = {}

    def knows(self, text: bytes, in_work_tree: bool | None) -> bool:  # noqa: FBT001 - the shape of Knowing
        """Tell whether a text was judged before."""
        return self._cache.knows(text, in_work_tree)

    def recall(self, record: Record) -> Lasting | None:
        """Return what is known of a record that was judged before."""
        entry = self._cache.entry(record.text.reveal(), in_work_tree=record.in_work_tree)
        if entry is None:
            return None
        feeds = record.settings.get("equipment", {}).get("feeds", "")
        return lasting_of(entry.plain, entry.departed, self._program, feeds)

    def note(self, record: Record, assessment: CardAssessment) -> None:
        """Take what was said of a record, for the next sweep, and its settings for ``take``."""
        self._settings = record.settings
        text, lies = record.text.reveal(), record.in_work_tree
        if self._cache.entry(text, in_work_tree=lies) is None:
            self._cache.add(text, lasting_texts(assessment), in_work_tree=lies)

    def take(self, assessment: CardAssessment) -> None:
        """Keep what history needs of the card that was judged last."""
        self._draft.add(card_result(assessment, self._settings))

    def append(self, head: SweepHead, summary: EstateSummary) -> Sweep:
        """Append the sweep to the store, and keep the cache; return what was appended."""
        sweep = self._sweep(head, summary)
        self._draft.append(sweep)
        self._cache.keep()
        return sweep

    def _sweep(self, head: SweepHead, summary: EstateSummary) -> Sweep:
        program = self._program
        rules = (program.rules[place] for place in sorted((*program.on_card, *program.on_evidence)))
        return Sweep(
            id=token_hex(16),
            origin=self._origin,
            part=head.part,
            as_of=head.as_of.astimezone(UTC).replace(microsecond=0),
            version=head.version,
            operator=program.tailoring.operator,
            rulesets=tuple(f"{each.name} {each.version}" for each in program.rulesets),
            rules={rule.id: rule.title for rule in rules},
            hold_at=summary.hold_at,
            held=summary.held,
            unusable=summary.unusable,
            every_days=program.sweep_days,
            capture_age_maximum_days=_days(program, CAPTURE_PARAMETER),
            shared=tuple(SharedGroup(one.kind, one.band, one.cards) for one in summary.shared),
            deviations=_deviations(head.deviations, summary),
        )


def _deviations(chosen: "DeviationSet | None", summary: EstateSummary) -> tuple[KeptDeviation, ...]:
    uses = summary.deviations.uses if summary.deviations else ()
    covered = {id(use.deviation): use.findings for use in uses}
    return tuple(
        KeptDeviation(
            one.rule, one.cards, one.member, one.owner, one.ticket, one.expires, covered.get(id(one), 0)
        )
        for one in (chosen.deviations if chosen else ())
    )


def _days(program: Program, name: str) -> float | None:
    parameter = program.parameters.get(name)
    return float(parameter.value) if parameter else None
