"""Sums by control add up what the rules of a control say, and count each card once."""

from auditor.report.by_control import ControlCards, ControlSum, control_sums
from tests.report.sample import SITE, estate, make_run, sum_up


def _sums(site: str) -> dict[str, ControlSum]:
    run = make_run(site)
    assessments = estate(run)
    cards = ControlCards(run)
    for assessment in assessments:
        cards.add(assessment)
    return {each.control: each for each in control_sums(run, sum_up(run, assessments), cards)}


def test_a_control_adds_up_its_rules() -> None:
    """AC-1 has telnet (3 passed, 1 failed), communities (3, 1, 1 unknown), timeouts (2, 1, 1 unknown)."""
    found = _sums(SITE)["AC-1"]
    assert (found.crosswalk, found.title) == ("sample-controls", "Access is limited")
    assert found.rules == ("telnet-enabled", "community-can-write", "session-timeout-too-long")
    assert (found.passed, found.failed, found.unknown) == (8, 3, 2)


def test_a_card_that_fails_two_rules_of_a_control_counts_once() -> None:
    """One card fails two rules of AC-1, another one fails the third: that makes two cards."""
    assert _sums(SITE)["AC-1"].cards_failing == 2


def test_an_error_counts_as_a_failing_card() -> None:
    """AU-1 fails on one card, and errs on another."""
    assert _sums(SITE)["AU-1"].cards_failing == 2


def test_a_control_that_no_rule_serves_is_left_out() -> None:
    """ZZ-9 is served only by a rule that the run does not have."""
    assert list(_sums(SITE)) == ["AC-1", "AU-1", "CM-1"]


def test_a_rule_that_was_set_aside_serves_no_control() -> None:
    """Without tailoring CM-1 has two rules; the site set one of them aside."""
    assert _sums(SITE)["CM-1"].rules == ("telnet-enabled",)
    assert _sums("")["CM-1"].rules == ("telnet-enabled", "usb-open")


def test_without_cards_the_count_is_the_least_that_is_certain() -> None:
    """Sums alone know only how many cards fail each rule: the greatest of these is a lower bound."""
    run = make_run()
    found = {each.control: each for each in control_sums(run, sum_up(run, estate(run)))}
    assert found["AC-1"].cards_failing == 1
