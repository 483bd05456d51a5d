"""What a procedure says, in words and figures, for every format; decides no layout."""

from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import NamedTuple

from auditor.dataclass import dataclass
from auditor.procedure.course import Course
from auditor.procedure.left_out import Refused, Remaining
from auditor.procedure.order import section_of
from auditor.procedure.plan import CardPlan
from auditor.procedure.timetable import Block, BlockKind
from auditor.procedure.window import OneVisit, Part, Shared, Timing
from auditor.report.caution import CAUTIONS
from auditor.report.figures import whereabouts
from auditor.report.visit_step import StepText, step_text, title_of, told
from auditor.report.visit_words import AFTER, ANEW, BEFORE, LIFE_SAFETY, ONE_BY_ONE, SHARING, STOPS
from auditor.rules.program import Program


class Made(NamedTuple):
    """For when a procedure is made, with which minutes, and for which window, in minutes or None."""

    as_of: datetime
    timing: Timing
    window: int | None


@dataclass(frozen=True, slots=True)
class CardText:
    """A card in the head of a procedure; percents are 0 to 100, or None where nothing applies."""

    id: str
    name: str
    place: str
    feeds: str
    firmware: str
    file: str
    captured_at: str
    score_before: float | None
    score_after: float | None
    findings_before: int
    findings_after: int
    ways: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class BlockText:
    """Steps that are done one after the other. ``kind`` is a ``BlockKind``."""

    kind: str
    restarts: bool
    steps: tuple[StepText, ...]


@dataclass(frozen=True, slots=True)
class PartText:
    """What a visit does on one card."""

    card: str
    minutes: int
    blocks: tuple[BlockText, ...]


@dataclass(frozen=True, slots=True)
class VisitText:
    """One visit; minutes are whole, ``blind_minutes`` those of all restarts together."""

    number: int
    minutes: int
    restarts: int
    blind_minutes: int
    parts: tuple[PartText, ...]


@dataclass(frozen=True, slots=True)
class LeftText:
    """A step that is left out: why, about what in particular, and what to do instead."""

    card: str
    title: str
    rules: tuple[str, ...]
    reason: str
    detail: str
    instead: str


@dataclass(frozen=True, slots=True)
class RemainingText:
    """A finding that is still there after all visits."""

    card: str
    rule: str
    title: str
    pointer: str
    label: str
    severity: float
    band: str
    reason: str
    instead: str


@dataclass(frozen=True, slots=True)
class Sheet:
    """A whole procedure. ``window`` is in minutes, None for none; ``as_of`` is the moment it is made for.

    ``sharing`` says how the steps came to their visits; empty where there is one.
    """

    as_of: datetime
    rulesets: tuple[str, ...]
    operator: str
    window: int | None
    timing: Timing
    own_address: str
    cards: tuple[CardText, ...]
    cautions: tuple[str, ...]
    before: tuple[str, ...]
    stops: tuple[str, ...]
    visits: tuple[VisitText, ...]
    after: tuple[str, ...]
    left_out: tuple[LeftText, ...]
    remaining: tuple[RemainingText, ...]
    has_open_values: bool
    sharing: str

    @property
    def is_empty(self) -> bool:
        """Return whether there is no step at all."""
        return not self.visits


def sheet_of(courses: Sequence[Course], shared: Shared, program: Program, made: Made) -> Sheet:
    """Return what a procedure says."""
    as_of, timing, window = made
    plans = [course.plan for course in courses]
    visits = tuple(_visit(n, visit, courses, timing) for n, visit in enumerate(shared.visits, start=1))
    steps = [s for visit in visits for part in visit.parts for block in part.blocks for s in block.steps]
    return Sheet(
        as_of,
        tuple(f"{ruleset.name} {ruleset.version}" for ruleset in program.rulesets),
        program.tailoring.operator,
        window,
        timing,
        next((plan.bench.own_address for plan in plans), ""),
        tuple(_card(course) for course in courses),
        tuple(_cautions(plans)),
        tuple(_before(visits)),
        STOPS,
        visits,
        AFTER,
        tuple(_left_out(plans, shared)),
        tuple(
            _remaining(course.plan.record.card_id, each) for course in courses for each in course.remaining
        ),
        any(entry.kind == "asked" for step in steps for entry in step.enter),
        SHARING if len(visits) > 1 else "",
    )


def _card(course: Course) -> CardText:
    plan = course.plan
    card = plan.before.card
    return CardText(
        card.id,
        card.name,
        ", ".join(whereabouts(card.site, card.location)),
        card.feeds,
        card.firmware_version,
        plan.record.file,
        card.taken_at,
        plan.before.score.percent,
        course.after.score.percent,
        len(plan.before.findings),
        len(course.after.findings),
        tuple(str(way) for way in plan.ways),
    )


def _cautions(plans: Sequence[CardPlan]) -> Iterator[str]:
    yield from CAUTIONS
    if any(plan.before.card.feeds == "life_safety" for plan in plans):
        yield LIFE_SAFETY


def _before(visits: Sequence[VisitText]) -> Iterator[str]:
    yield from BEFORE
    if any(len(visit.parts) > 1 for visit in visits):
        yield ONE_BY_ONE
    if len(visits) > 1:
        yield ANEW


def _visit(number: int, visit: OneVisit, courses: Sequence[Course], timing: Timing) -> VisitText:
    parts = []
    place = 1
    for part in visit.parts:
        parts.append(_part(part, courses[part.card], f"{number}.", place))
        place += sum(len(block.steps) for block in part.blocks)
    return VisitText(number, visit.minutes, visit.restarts, visit.restarts * timing.restart, tuple(parts))


def _part(part: Part, course: Course, prefix: str, first: int) -> PartText:
    blocks = []
    for block in part.blocks:
        blocks.append(_block(block, course, prefix, first))
        first += len(block.steps)
    return PartText(course.plan.record.card_id, part.minutes, tuple(blocks))


def _block(block: Block, course: Course, prefix: str, first: int) -> BlockText:
    steps = (
        step_text(f"{prefix}{first + n}", course.plan.done[step.id], section_of(step), course)
        for n, step in enumerate(block.steps)
    )
    return BlockText(str(block.kind), block.restarts, tuple(steps))


def _left_out(plans: Sequence[CardPlan], shared: Shared) -> Iterator[LeftText]:
    for card, plan in enumerate(plans):
        for refused in (*plan.refused, *shared.too_long.get(card, ())):
            yield _left(plan, refused)


def _left(plan: CardPlan, refused: Refused) -> LeftText:
    detail = _named(refused.detail, plan)
    return LeftText(
        plan.record.card_id,
        title_of(refused.step),
        tuple(sorted(refused.step.rule_ids)),
        str(refused.reason),
        detail,
        refused.instead,
    )


def _named(detail: str, plan: CardPlan) -> str:
    """Return a detail with a step's title in the place of its id."""
    steps = {**plan.graph.steps, **{refused.step.id: refused.step for refused in plan.refused}}
    return title_of(steps[detail]) if detail in steps else detail


def _remaining(card: str, remaining: Remaining) -> RemainingText:
    return RemainingText(card, *told(remaining.finding), str(remaining.reason), remaining.instead)


UNORDERED = str(BlockKind.UNORDERED)
