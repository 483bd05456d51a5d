"""A finding on one line: what was observed is said as a sentence says it."""

from dataclasses import replace

import pytest

from auditor.report.figures import whereabouts
from auditor.report.finding_text import finding_line
from auditor.rules.evidence import CANT_BE_TOLD, Evidence
from tests.report.sample import assess_cards, make_run, poor_card


@pytest.mark.parametrize(
    ("observed", "fact", "said"),
    [
        ("true", "", "/mail/enabled is true, expected false"),
        ("not captured", "", "/mail/enabled is not captured, expected false"),
        (CANT_BE_TOLD, "has_alarm_path", "/mail/enabled has_alarm_path can't be told, expected false"),
    ],
)
def test_what_was_observed_makes_a_sentence(observed: str, fact: str, said: str) -> None:
    """A value or a state is something; what can't be told is nothing."""
    finding = assess_cards(make_run(), [poor_card()])[0].findings[0]
    told = replace(finding, evidence=(Evidence("/mail/enabled", observed, "false", fact),))
    assert finding_line(told).endswith(f": {said}")


@pytest.mark.parametrize(
    ("site", "location", "parts"),
    [
        ("North", "Building 2", ("North", "Building 2")),
        ("North", "north, building 2", ("north, building 2",)),
        ("", "Building 2", ("Building 2",)),
        ("North", "", ("North",)),
        ("North", "Northgate", ("North", "Northgate")),
        ("", "", ()),
    ],
)
def test_a_place_is_said_once(site: str, location: str, parts: tuple[str, ...]) -> None:
    """A location that begins with its site says both; one that only begins alike doesn't."""
    assert whereabouts(site, location) == parts
