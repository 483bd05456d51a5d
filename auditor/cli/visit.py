"""What the commands of a visit share: records read, planned, and put into words."""

import secrets
import sys
from collections.abc import Mapping
from ipaddress import ip_address

import orjson

from auditor.change.site_deviations import load_deviations
from auditor.cli.asked_findings import asked_findings, tell_what_is_gone
from auditor.cli.cache import key_store
from auditor.cli.visit_choices import VisitChoices
from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError, RecordError
from auditor.facts.fact import Context
from auditor.facts.sealing import KEY_OCTETS, seal
from auditor.fleet.any_source import read_any
from auditor.fleet.audit import acceptance_of
from auditor.fleet.choices import load_program
from auditor.fleet.context import context_of_run
from auditor.fleet.importing import ImportChoices
from auditor.procedure.course import Course, courses
from auditor.procedure.plan import Asked, CardPlan, plan_card
from auditor.procedure.step import key_of
from auditor.procedure.window import Timing, share_out
from auditor.report.visit_sheet import Made, Sheet, sheet_of
from auditor.rules.program import Program
from auditor.scoring.accepted import Acceptance
from auditor.scoring.assessment import CardAssessment, assess
from auditor.scoring.deviation import Deviation, DeviationSet

_Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Visited:
    """What comes of a visit, its words, and by what it was made; ``faults`` are unusable records."""

    program: Program
    context: Context
    deviations: DeviationSet | None
    courses: tuple[Course, ...]
    sheet: Sheet
    faults: tuple[RecordError, ...]

    @property
    def plans(self) -> tuple[CardPlan, ...]:
        """Return the plans, in the order of the cards."""
        return tuple(course.plan for course in self.courses)

    def after_images(self, *, one_line: bool) -> bytes:
        """Return the records as they would be, sealed with a key that is thrown away: a line each, or one.

        Sealed like this, no clear secret leaves the record, and the audit says the same.
        """
        key = secrets.token_bytes(KEY_OCTETS)
        images = [seal(course.settings, key, course.plan.bench.context) for course in self.courses]
        if one_line or len(images) != 1:
            return b"".join(orjson.dumps(image) + b"\n" for image in images)
        return orjson.dumps(images[0], option=orjson.OPT_INDENT_2) + b"\n"


def visited(choices: VisitChoices) -> Visited:
    """Read the records, plan their visit, and put it into words.

    Raises:
        AuditorError: if a ruleset, a site's file, a result or the address can't be used.
    """
    program = load_program(choices.rulesets, choices.site)
    accepted = load_deviations(choices.deviations, program)
    context = context_of_run(choices.as_of, program.tailoring.word_list, key_store())
    address = _address(choices.own_address)
    asked = asked_findings(choices.findings, program) if choices.findings else None
    faults: list[RecordError] = []
    plans: list[CardPlan] = []
    acceptance = acceptance_of(accepted, choices.as_of, whole_estate=False) if accepted else None
    for record in read_any(choices.paths, sys.stdin.buffer, ImportChoices(None, None)):
        if isinstance(record, RecordError):
            faults.append(record)
            continue
        covered = _covered(assess(record, program, context), acceptance) if acceptance else {}
        wanted = asked.findings if asked else None
        plans.append(plan_card(record, program, context, Asked(address, wanted, covered)))
    if asked:
        tell_what_is_gone(asked, plans)
    timing = Timing(restart=choices.restart_minutes)
    shared = share_out(plans, timing, choices.window)
    come = courses(plans, shared)
    sheet = sheet_of(come, shared, program, Made(choices.as_of, timing, choices.window))
    return Visited(program, context, accepted, come, sheet, tuple(faults))


def _covered(assessment: CardAssessment, acceptance: Acceptance) -> Mapping[_Key, Deviation]:
    """Return the findings that a deviation covers: somebody answers for them, so they are not mended."""
    marked = acceptance.mark(assessment).findings
    return {(assessment.card.id, *key_of(found)): found.deviation for found in marked if found.deviation}


def _address(text: str) -> str:
    if not text:
        return ""
    try:
        return str(ip_address(text))
    except ValueError as error:
        raise InputError(
            [Fault("--from", "", 0, 0, "expected an IP address", "Write one, such as 192.0.2.7.")]
        ) from error
