"""What a card feeds, and what that does to severities."""

from itertools import pairwise
from typing import Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.record.schema import place_at
from auditor.rules.loading import read_schema
from auditor.scoring.band import Band, band_of
from auditor.scoring.ccss import ENVIRONMENTAL_WEIGHTS, base_score, environmental_score
from auditor.scoring.environment import DEFAULT_ENVIRONMENTS, UNKNOWN_ENVIRONMENT, environment_of

FROM_GRAVEST: Final = ("life_safety", "critical", "production", "office", "lab")

vectors = st.builds(
    "AV:{}/AC:{}/Au:{}/C:{}/I:{}/A:{}".format,
    st.sampled_from("LAN"), st.sampled_from("HML"), st.sampled_from("MSN"),
    st.sampled_from("NPC"), st.sampled_from("NPC"), st.sampled_from("NPC"),
)  # fmt: skip


def test_every_load_of_the_record_has_an_environment() -> None:
    """The words of the record's schema and those of the defaults are the same."""
    place = place_at(("equipment", "feeds"))
    assert place is not None
    assert set(place.values) == set(DEFAULT_ENVIRONMENTS) == set(FROM_GRAVEST)


@pytest.mark.parametrize("feeds", FROM_GRAVEST)
def test_defaults_are_valid_and_argued(feeds: str) -> None:
    """Each default has metrics that CCSS knows, all five of ours, and one line of argument."""
    environment = DEFAULT_ENVIRONMENTS[feeds]
    assert all(value in ENVIRONMENTAL_WEIGHTS[name] for name, value in environment.metrics.items())
    assert set(environment.metrics) == {"CDP", "CR", "IR", "AR", "PTV"}
    assert environment.because.endswith(".")
    assert "\n" not in environment.because


def test_a_site_may_set_every_environmental_metric_and_no_other() -> None:
    """The shape of a site's file allows what CCSS knows; EC, EI and EA would replace a rule's own impact."""
    metrics = read_schema("site-1.schema.json")["properties"]["environment"]["additionalProperties"]
    allowed = {name: set(each["enum"]) for name, each in metrics["properties"].items()}
    assert metrics["additionalProperties"] is False
    assert allowed == {name: set(weights) for name, weights in ENVIRONMENTAL_WEIGHTS.items()}


@given(vectors)
def test_a_graver_load_never_lowers_a_severity(vector: str) -> None:
    """The same fault is at least as severe on a card with the graver load."""
    scores = [environmental_score(vector, environment_of(feeds).metrics).score for feeds in FROM_GRAVEST]
    assert all(graver >= milder for graver, milder in pairwise(scores))


@given(vectors)
def test_a_lab_card_scores_clearly_below_a_critical_one(vector: str) -> None:
    """A lab card stays 2.0 or more below, wherever a fault scores 4.0 or more on a critical card."""
    critical = environmental_score(vector, environment_of("critical").metrics).score
    lab = environmental_score(vector, environment_of("lab").metrics).score
    assert critical - lab >= 2 or critical < 4


def test_availability_weighs_most_where_the_load_is_critical() -> None:
    """Of three equal losses, that of availability is the most severe on a critical card."""
    scores = {
        name: environmental_score(f"AV:N/AC:L/Au:N/{losses}", environment_of("critical").metrics).score
        for name, losses in {"C": "C:P/I:N/A:N", "I": "C:N/I:P/A:N", "A": "C:N/I:N/A:P"}.items()
    }
    assert scores["A"] > scores["I"] == scores["C"]


def test_a_card_with_an_unknown_load_is_scored_by_the_rule_alone() -> None:
    """No feeds, no metrics: the severity is the base score."""
    environment = environment_of(None)
    assert environment is UNKNOWN_ENVIRONMENT
    vector = "AV:N/AC:L/Au:N/C:P/I:P/A:P"
    assert environmental_score(vector, environment.metrics).score == base_score(vector).score


def test_a_site_replaces_the_metrics_of_a_load() -> None:
    """A site's metrics stand alone: none of the default's stay on."""
    environment = environment_of("lab", {"lab": {"CDP": "H"}})
    assert (environment.feeds, dict(environment.metrics), environment.because) == (
        "lab", {"CDP": "H"}, "Set by the site.",
    )  # fmt: skip
    assert environment_of("office", {"lab": {"CDP": "H"}}) is DEFAULT_ENVIRONMENTS["office"]


def test_full_control_over_the_network_is_critical_where_a_load_matters() -> None:
    """Partial loss of all three, from anywhere, by anyone: critical where much depends on the load."""
    bands = {
        feeds: band_of(environmental_score("AV:N/AC:L/Au:N/C:P/I:P/A:P", environment_of(feeds).metrics).score)
        for feeds in FROM_GRAVEST
    }
    assert bands == {
        "life_safety": Band.CRITICAL,
        "critical": Band.CRITICAL,
        "production": Band.HIGH,
        "office": Band.MEDIUM,
        "lab": Band.MEDIUM,
    }
