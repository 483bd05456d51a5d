"""JUnit XML: read by a reader of others, a suite a card, a case a rule, nothing that acts."""

import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Final

import pytest
from junitparser import Error, Failure, JUnitXml, Skipped, TestCase, TestSuite

from auditor.report.junit import ESTATE, make_junit
from tests.report.hostile import PAYLOADS, assess_hostile
from tests.report.sample import DEVIATIONS, SECRET, estate, golden, make_run, render

RUN: Final = make_run()
ACCEPTED: Final = replace(RUN, deviations=DEVIATIONS)


def suites(text: bytes) -> dict[str, TestSuite]:
    """Read a document with the reader of others; suites by name."""
    return {suite.name: suite for suite in JUnitXml.fromstring(text)}


def case(suite: TestSuite, name: str) -> TestCase:
    """Return the case of a rule."""
    (found,) = (each for each in suite if each.name == name)
    return found


def test_the_document_is_exactly_the_golden_one() -> None:
    """Every word of the small estate's cases is held, with deviations and an unusable record."""
    text = render(make_junit, ACCEPTED, estate(ACCEPTED))
    assert text == golden("report.xml", text)


def test_a_card_is_a_suite_and_a_rule_a_case() -> None:
    """Every rule of the run stands once in every card; the counts are those of the cases."""
    found = suites(render(make_junit, RUN, estate(RUN)))
    assert list(found)[:-1] == [each.card.id for each in estate(RUN)]
    for suite in list(found.values())[:-1]:
        cases = list(suite)
        assert [each.name for each in cases] == [rule.id for rule in RUN.program.rules]
        kinds = [type(result) for each in cases for result in each.result]
        assert (suite.tests, suite.failures, suite.errors, suite.skipped) == (
            len(cases),
            kinds.count(Failure),
            kinds.count(Error),
            kinds.count(Skipped),
        )


def test_outcomes_become_what_readers_know() -> None:
    """A pass has no result; a fail is a failure, an error an error; the rest is skipped and says why."""
    poor = suites(render(make_junit, RUN, estate(RUN)))["north-ups-02"]
    assert case(poor, "telnet-enabled").result == []
    (failure,) = case(poor, "community-can-write").result
    assert isinstance(failure, Failure)
    assert failure.type == "critical"
    assert "(control)" in (failure.text or "")
    assert isinstance(case(poor, "clock-polls-never").result[0], Error)
    aside = case(poor, "usb-open").result[0]
    assert isinstance(aside, Skipped)
    assert "The racks are locked" in (aside.message or "")


def test_an_accepted_finding_is_skipped_and_says_who_answers() -> None:
    """It fails no build; owner, day and ticket stand in its message."""
    south = suites(render(make_junit, ACCEPTED, estate(ACCEPTED)))["south-pdu-01"]
    (accepted,) = case(south, "telnet-enabled").result
    assert isinstance(accepted, Skipped)
    assert accepted.message == "accepted until 2027-03-31, N. Adeyemi, power answers for it, ticket CHG-2207"


def test_the_estate_has_a_suite_of_its_own() -> None:
    """Faults of deviations and records that could not be used are on no card."""
    cases = list(suites(render(make_junit, ACCEPTED, estate(ACCEPTED)))[ESTATE])
    assert [each.name.partition(",")[0] for each in cases if each.classname == "deviations"] == [
        "deviation-without-owner",
        "deviation-expired",
        "deviation-unused",
    ]
    assert {each.name for each in cases if each.classname == "records"} == {"south/broken.json"}


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_hostile_text_stays_text(payload: str) -> None:
    """Markup, controls and marks of direction of a record are read back as visible text, or not at all."""
    text = render(make_junit, RUN, assess_hostile(RUN, payload))
    assert ET.fromstring(text).tag == "testsuites"  # noqa: S314 - our own text
    assert {each.tag for each in ET.fromstring(text).iter()} <= {  # noqa: S314 - our own text
        "testsuites",
        "testsuite",
        "testcase",
        "failure",
        "error",
        "skipped",
    }


def test_no_secret_stands_in_the_document() -> None:
    """Secrets of the small estate are not repeated."""
    assert SECRET.encode() not in render(make_junit, ACCEPTED, estate(ACCEPTED))
