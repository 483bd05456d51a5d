"""What became of each finding: mended by a step, gone with a step, or still there; each once, none lost."""

from collections import Counter
from operator import attrgetter

import pytest

from auditor.procedure.course import Course, courses
from auditor.procedure.edit import edited
from auditor.procedure.judging import Judge, Key
from auditor.procedure.left_out import Reason
from auditor.procedure.plan import Asked
from auditor.procedure.step import Step, key_of
from auditor.procedure.window import Timing, share_out
from auditor.record.reading import Record
from tests.procedure.sample import ADDRESS, CONTEXT, demo_program, demo_records, plan


def _course(record: Record, window: int | None = None) -> tuple[Course, list[Step]]:
    found = plan(record, Asked(ADDRESS), demo_program())
    shared = share_out([found], Timing(), window)
    (course,) = courses([found], shared)
    parts = [part for visit in shared.visits for part in visit.parts]
    return course, [step for part in parts for block in part.blocks for step in block.steps]


def _card(name: str) -> Record:
    return next(record for record in demo_records() if record.card_id == name)


def _told(course: Course, steps: list[Step]) -> Counter[Key]:
    """Return how often each finding is told; what only steps bring about is no finding of the audit."""
    mended = [key_of(finding) for step in steps for finding in step.findings]
    fallen = [key_of(finding) for group in course.fallen.values() for finding in group]
    remaining = [key_of(each.finding) for each in course.remaining]
    return Counter([key for key in mended if key in course.audited] + fallen + remaining)


@pytest.mark.parametrize("window", [None, 240, 60])
@pytest.mark.parametrize("record", demo_records(), ids=attrgetter("card_id"))
def test_every_finding_of_the_audit_stands_once(record: Record, window: int | None) -> None:
    """Under its step, under the step with which it falls away, or under what remains; nothing else does."""
    course, steps = _course(record, window)
    told = _told(course, steps)
    assert course.audited <= told.keys()
    assert set(told.values()) <= {1}
    assert len(course.remaining) == len(course.after.findings)
    if course.settings == course.plan.after_settings:
        assert told.keys() == course.audited


def test_what_falls_away_is_there_before_its_step_and_never_again_after_it() -> None:
    """Judged anew after every step, in the order of one visit and in that of several."""
    for window in (None, 120):
        course, steps = _course(_card("fhw-ups-uv"), window)
        judge = Judge(course.plan.record, demo_program(), CONTEXT)
        found = [judge.findings(course.plan.record.settings)]
        settings = course.plan.record.settings
        for step in steps:
            settings = edited(settings, course.plan.done[step.id].edits)
            found.append(judge.findings(settings))
        order = [step.id for step in steps]
        for name, falling in course.fallen.items():
            at = order.index(name)
            for finding in falling:
                assert key_of(finding) in found[at]
                assert all(key_of(finding) not in later for later in found[at + 1 :])
        worst = {finding.rule.id for falling in course.fallen.values() for finding in falling}
        assert "outputs-open-to-anyone" in worst


def test_what_does_not_fit_the_window_remains_and_the_card_is_judged_without_it() -> None:
    """No step that no visit does is in the after-image or in the score."""
    course, steps = _course(_card("fhw-ups-backwash"), 60)
    left = {each.finding.rule.id: each.reason for each in course.remaining}
    assert "firmware" not in {step.id for step in steps}
    assert left["telnet-enabled"] is Reason.TOO_LONG
    assert course.settings["services"]["telnet"]["enabled"] is True
    assert (course.after.score.percent or 0) < (course.plan.after.score.percent or 0)
