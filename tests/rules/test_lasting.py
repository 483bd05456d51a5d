"""What lasts of a judgement: results of rules that say the same of a record on every day."""

import random
from dataclasses import fields, replace
from datetime import timedelta
from typing import Any

import orjson
import pytest

from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.record.reading import Record, read_again, read_record
from auditor.rules.program import passing_places
from auditor.rules.unusual import Unusual
from auditor.scoring.assessment import CardAssessment, Lasting, assess
from tests.rules.matrix import AS_OF, program
from tests.rules.mutation import random_card

DAYS = (-400, -1, 0, 1, 30, 91, 365, 4000)


def lasting(assessment: CardAssessment) -> Lasting:
    """Return what lasts of an assessment."""
    used = assessment.program
    passing = {*passing_places(used), *used.on_evidence}
    gone = {used.rules[place].id for place in passing}
    return Lasting(
        Unusual((), {place: one for place, one in assessment.unusual.items() if place not in passing}),
        [each for each in assessment.findings if each.rule.id not in gone],
        [each for each in assessment.missing if each.rule.id not in gone],
    )


def told(assessment: CardAssessment) -> dict[str, Any]:
    """Return everything that an assessment says, in a form that can be compared."""
    said = {field.name: getattr(assessment, field.name) for field in fields(assessment)}
    said["unusual"] = {
        place: (
            result.rule.id, result.outcome, result.passed, result.counted,
            [replace(departure, seen=()) for departure in result.departures],
        )
        for place, result in assessment.unusual.items()
    }  # fmt: skip
    return said


def record_of(seed: int) -> Record:
    """Return a random record."""
    card = random_card(random.Random(seed))  # noqa: S311 - made-up data
    return read_record(orjson.dumps(card), "card.json", in_work_tree=False)


@pytest.mark.parametrize("compiled", [True, False])
@pytest.mark.parametrize("seed", range(8))
def test_an_assessment_from_what_lasts_is_the_fresh_one(seed: int, compiled: bool) -> None:
    """On other days, before and after, nothing differs: results, evidence, findings, sums."""
    record, context = record_of(seed), Context(AS_OF, well_known_words())
    known = lasting(assess(record, program({}), context))
    for days in DAYS:
        then = replace(context, as_of=AS_OF + timedelta(days=days, seconds=seed * 997))
        fresh = assess(record, program({}), then, compiled=compiled)
        again = assess(record, program({}), then, compiled=compiled, known=known)
        assert told(again) == told(fresh)


def test_some_outcomes_change_with_the_day_alone() -> None:
    """The test above would not notice rules that ask for no moment."""
    record, context = record_of(1), Context(AS_OF, well_known_words())
    later = replace(context, as_of=AS_OF + timedelta(days=4000))
    assert told(assess(record, program({}), context)) != told(assess(record, program({}), later))
    assert len(passing_places(program({}))) >= 10


@pytest.mark.parametrize("seed", range(10))
def test_a_record_read_again_is_the_same_record(seed: int) -> None:
    """The checks are left out, and nothing else: secrets are wrapped and found as before."""
    first = record_of(seed)
    for mark in (b"", b"\xef\xbb\xbf"):
        again = read_again(mark + first.text.reveal(), "card.json", in_work_tree=False)
        assert (again.settings, again.secrets, again.holds_clear) == (
            first.settings, first.secrets, first.holds_clear,
        )  # fmt: skip
