"""What to heed when something is mended: the same words in every report, and only of what was found."""

from dataclasses import replace

import pytest

from auditor.report.html.findings import explained_rules, sections_of
from auditor.report.html.first_things import things_of
from auditor.report.html.page import make_html
from auditor.report.markdown import make_markdown
from auditor.report.mend_care import CUTS_ACCESS, OUTPUT_RISK, RESTARTS, FoundTogether, care_of, found_on
from auditor.report.table import make_table
from auditor.report.writer import Run, WriterMaker
from auditor.rules.program import make_program
from auditor.rules.rule import Rule, Visit
from auditor.rules.tailoring import Tailoring
from auditor.scoring.assessment import CardAssessment
from tests.report.sample import (
    FACTS,
    assess_cards,
    bare_card,
    good_card,
    make_run,
    poor_card,
    render,
    ruleset,
    sum_up,
    worst_card,
)

RISKY = Visit(restart=True, cuts_access=True, output_risk=True, after=("log-too-short", "usb-open"))


def _rule(name: str, visit: Visit) -> Rule:
    (rule,) = (rule for rule in ruleset().rules if rule.id == name)
    return replace(rule, visit=visit)


def _run(visits: dict[str, Visit]) -> Run:
    rules = tuple(_rule(rule.id, visits[rule.id]) if rule.id in visits else rule for rule in ruleset().rules)
    return replace(make_run(), program=make_program([replace(ruleset(), rules=rules)], Tailoring(), FACTS))


@pytest.mark.parametrize("make", [make_table, make_markdown, make_html])
def test_every_report_warns_beside_the_mend(make: WriterMaker) -> None:
    """A restart, a lock-out, a risk to the load and what to mend first stand in each of them."""
    run = _run({"telnet-enabled": RISKY})
    text = " ".join(render(make, run, assess_cards(run, [worst_card()]), faults=()).decode().split())
    for said in (RESTARTS, CUTS_ACCESS, OUTPUT_RISK, "First mend: log-too-short."):
        assert said in text


def test_only_what_was_found_on_the_same_card_is_to_be_mended_first() -> None:
    """A rule that the card passes, or another card alone fails, is not named."""
    run = _run({"telnet-enabled": RISKY})
    telnet = _rule("telnet-enabled", RISKY)
    quiet = worst_card()
    quiet["log"]["events_per_day"] = 1
    loud = good_card("south-ups-02")
    loud["log"]["events_per_day"] = 40
    with_it, without, elsewhere = assess_cards(run, [worst_card(), quiet, loud])
    assert found_on(with_it).before(telnet) == ("log-too-short",)
    assert found_on(without).before(telnet) == ()
    apart, both = FoundTogether([telnet]), FoundTogether([telnet])
    for card in (without, elsewhere):
        apart.add(card)
        both.add(card)
    both.add(with_it)
    assert apart.before(telnet) == ()
    assert both.before(telnet) == ("log-too-short",)


def test_a_mend_without_care_says_nothing() -> None:
    """Neither a rule that says nothing of a visit nor a harmless one has anything to heed."""
    (rule,) = (rule for rule in ruleset().rules if rule.id == "log-too-short")
    assert care_of(rule, FoundTogether(())) == ()
    assert care_of(replace(rule, visit=Visit()), FoundTogether(())) == ()


def test_what_is_not_known_is_captured_before_anybody_heeds_a_mend() -> None:
    """The terminal and Markdown give no warning where there is no mend."""
    run = _run({"session-timeout-too-long": RISKY})
    for make in (make_table, make_markdown):
        text = render(make, run, assess_cards(run, [bare_card()]), faults=()).decode()
        assert "session-timeout-too-long" in text
        assert RESTARTS not in text


@pytest.mark.parametrize("milder", [("log-too-short",), ("log-too-short", "telnet-enabled")])
def test_what_must_be_mended_first_stands_before_what_waits_for_it(milder: tuple[str, ...]) -> None:
    """However mild; the rest stays worst first. Two rules that wait for each other don't hang."""
    visits = {"telnet-enabled": RISKY, "log-too-short": Visit(after=milder[1:])}
    run = _run(visits)
    cards = assess_cards(run, [worst_card(), poor_card()])
    together = FoundTogether(run.program.rules)
    for card in cards:
        together.add(card)
    plain, ordered = _order(run, cards, FoundTogether(())), _order(run, cards, together)
    assert plain.index("telnet-enabled") < plain.index("log-too-short")
    expected = [name for name in plain if name != "log-too-short"]
    expected.insert(expected.index("telnet-enabled"), "log-too-short")
    assert ordered == expected


def _order(run: Run, cards: list[CardAssessment], together: FoundTogether) -> list[str]:
    rules = explained_rules(run, sum_up(run, cards).whole, together)
    return [thing.explained.rule.id for thing in things_of(sections_of(cards, rules))]
