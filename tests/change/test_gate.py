"""The gate: it holds exactly for the listed reasons, says what got better, and looks at nothing else."""

from collections import Counter
from dataclasses import replace
from datetime import date
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.change.card_change import CardChange, State
from auditor.change.gate import Cause, Decision
from auditor.scoring.band import Band
from auditor.scoring.deviation import Deviation, DeviationSet
from tests.change.states import COMPLIANT, edited, gate, terms
from tests.report.sample import bare_card, good_card, poor_card, worst_card

Card = dict[str, Any]


def causes(decision: Decision) -> list[str]:
    """Return the causes of a decision, in its order."""
    return [reason.cause.value for reason in decision.reasons]


def telnet(card: Card) -> None:
    """Turn telnet on."""
    card["services"]["telnet"]["enabled"] = True


DEVIATION = Deviation(
    "telnet-enabled", ("*",), "", "N. Adeyemi", "why", date(2026, 9, 1), date(2026, 12, 31), "", "d.toml", 4
)


def covering(**changed: Any) -> DeviationSet:
    """Return a file of one deviation for telnet."""
    return DeviationSet("d.toml", "0" * 64, (replace(DEVIATION, **changed),))


@pytest.mark.parametrize("card", [good_card(), poor_card(), worst_card(), bare_card(), COMPLIANT])
def test_what_did_not_change_is_released(card: Card) -> None:
    """gate(A, A) releases, however bad A is, and looks at no card."""
    decision = gate([card], [card], terms(Band.LOW))
    assert (decision.held, decision.reasons, decision.cards, decision.unchanged) == (False, (), (), 1)


def test_a_new_finding_at_the_band_holds() -> None:
    """Telnet is turned on: the finding is the reason, with its evidence."""
    decision = gate([good_card()], [edited(good_card(), telnet)])
    (reason,) = (each for each in decision.reasons if each.cause is Cause.NEW_FINDING)
    assert reason.finding is not None
    assert (reason.card_id, reason.finding.rule.id) == ("north-ups-01", "telnet-enabled")


def test_a_new_finding_below_the_band_does_not_hold() -> None:
    """It is shown all the same."""
    after = edited(good_card(), lambda card: card["card"].update(contact="somebody else"))
    strict, usual = (gate([good_card()], [after], terms(band)) for band in (Band.LOW, Band.HIGH))
    assert [finding.rule.id for finding in usual.cards[0].new] == [f.rule.id for f in strict.cards[0].new]
    assert not usual.held


def test_a_finding_that_was_there_does_not_hold() -> None:
    """A change beside an old finding is released: the gate is about the change."""
    after = edited(worst_card(), lambda card: card["card"].update(name="UPS B"))
    decision = gate([worst_card()], [after], terms(Band.LOW))
    assert causes(decision) == []
    assert [move.title for move in decision.cards[0].moves] == ["Card: Name"]


def test_a_finding_that_becomes_more_severe_holds() -> None:
    """The load behind the card becomes a graver one: the old finding weighs more now."""
    before = edited(worst_card(), lambda card: card["equipment"].update(feeds="office"))
    decision = gate([before], [worst_card()], terms(Band.HIGH))
    worse = [reason for reason in decision.reasons if reason.cause is Cause.WORSENED_FINDING]
    assert [reason.finding.rule.id for reason in worse if reason.finding] == ["telnet-enabled"]
    assert all(r.was and r.finding and r.was.severity.score < r.finding.severity.score for r in worse)
    back = gate([worst_card()], [before], terms(Band.HIGH))
    assert causes(back) == []
    assert [pair.after.rule.id for pair in back.cards[0].lessened] != []


def test_an_unknown_that_matters_and_becomes_a_fail_is_worse() -> None:
    """Not to know was a finding; to know that it fails is a worse one."""
    known = edited(bare_card(), lambda card: card.update(access_policy={"session_timeout_s": 86400}))
    decision = gate([bare_card()], [known], terms(Band.LOW))
    assert Cause.WORSENED_FINDING in causes(decision)


def test_evidence_that_is_lost_holds() -> None:
    """A section is taken out: what could be decided can't be any more, setting by setting."""
    after = edited(good_card(), lambda card: card.pop("log"))
    decision = gate([good_card()], [after], terms(Band.CRITICAL))
    assert causes(decision) == ["evidence-lost"]
    assert "log-too-short" in decision.reasons[0].text
    back = gate([after], [good_card()], terms(Band.LOW))
    assert causes(back) == []
    assert [found.rule.id for found in back.cards[0].gained] == ["log-too-short"]


def test_a_member_of_which_less_is_known_loses_evidence() -> None:
    """The access of one community is no longer captured; the other is not touched."""
    after = edited(poor_card(), lambda card: card["snmp"]["communities"][0].pop("access"))
    lost = gate([poor_card()], [after]).cards[0].lost
    assert [(each.rule.id, each.label) for each in lost] == [("community-can-write", "monitoring")]


def test_a_new_member_of_which_little_is_known_loses_nothing() -> None:
    """Nobody knew it before either."""
    after = edited(good_card(), lambda card: card["snmp"]["communities"].append({"name": "new"}))
    assert gate([good_card()], [after]).cards[0].lost == ()


def test_a_new_way_to_switch_the_load_off_holds() -> None:
    """A community that may write was not there before; where it goes, the way is closed."""

    def write(card: Card) -> None:
        card["snmp"]["versions"] = ["v1"]
        card["snmp"]["communities"].append(
            {"name": "control", "enabled": True, "access": "write", "community": {"clear": "private"}}
        )

    before = edited(COMPLIANT, lambda card: card["snmp"].update(versions=["v1"]))
    decision = gate([before], [edited(COMPLIANT, write)], terms(Band.CRITICAL, shipped=True))
    ways = [reason for reason in decision.reasons if reason.cause is Cause.WAY_TO_SWITCH_OFF]
    assert any("community control" in reason.text for reason in ways)
    back = gate([edited(COMPLIANT, write)], [before], terms(Band.CRITICAL, shipped=True))
    assert Cause.WAY_TO_SWITCH_OFF not in causes(back)
    assert any("control" in way.party for way in back.cards[0].closed_ways)


def test_a_way_that_became_easier_holds() -> None:
    """The account was there, and its password is empty now; the other way round nothing became easier."""

    def emptied(card: Card) -> None:
        card["accounts"][2]["password"] = {"empty": True}

    strong = edited(COMPLIANT, lambda card: card["accounts"][2].update(second_factor=False))
    weak = edited(strong, emptied)
    assert "way-to-switch-off" in causes(gate([strong], [weak]))
    assert "way-to-switch-off" not in causes(gate([weak], [strong]))


def test_a_card_that_is_gone_holds() -> None:
    """Nobody audits a card that has no record."""
    decision = gate([good_card(), worst_card()], [good_card()])
    assert (causes(decision), decision.reasons[0].card_id) == (["card-removed"], "south-pdu-01")
    assert decision.unchanged == 1


@pytest.mark.parametrize("mark", [{"serial_number": "ZX-1"}, {"mac_address": "00:00:5e:00:53:01"}])
def test_a_card_under_another_id_is_renamed(mark: dict[str, str]) -> None:
    """The same serial number or hardware address: one reason, and no finding is new for it."""
    before = edited(worst_card(), lambda card: card["card"].update(mark))
    after = edited(before, lambda card: card["card"].update(id="south-pdu-02"))
    decision = gate([before], [after])
    assert causes(decision) == ["card-renamed"]
    assert decision.cards[0].state is State.RENAMED
    assert decision.cards[0].new == ()


def test_a_card_with_a_new_interface_is_still_itself() -> None:
    """One of the two is enough: the serial number stays, the hardware address is another."""
    before = edited(
        good_card(), lambda card: card["card"].update(serial_number="ZX-1", mac_address="00:00:5e:00:53:01")
    )
    after = edited(
        before, lambda card: card["card"].update(id="north-ups-09", mac_address="00:00:5e:00:53:02")
    )
    assert causes(gate([before], [after])) == ["card-renamed"]


def test_a_new_card_brings_all_its_findings() -> None:
    """Nothing vouches for it before: what it brings at the band holds, as a review before go-live."""
    decision = gate([good_card()], [good_card(), worst_card()], terms(Band.CRITICAL))
    assert Cause.NEW_FINDING in causes(decision)
    clean = edited(good_card("north-ups-09"), lambda card: card["snmp"].update(communities=[]))
    clean["accounts"][0]["password"] = {"crypt": "$6$saltsalt$" + "a" * 86}
    assert not gate([good_card()], [good_card(), clean]).held


def test_a_secret_that_newly_stands_in_clear_holds() -> None:
    """In a record it was sealed in, or of a member that was not there; one that was in clear does not."""
    sealed = edited(good_card(), lambda card: card["accounts"][0].update(password={"empty": True}))
    assert causes(gate([sealed], [good_card()])) == ["clear-secret"]
    back = gate([good_card()], [sealed])
    assert causes(back) == []
    assert back.cards[0].sealed == 1
    renewed = edited(good_card(), lambda card: card["accounts"][0].update(password={"clear": "other-word"}))
    assert causes(gate([good_card()], [renewed])) == []


def test_a_deviation_that_covers_releases_and_is_shown() -> None:
    """Telnet is accepted: no reason of its own, but the finding stands among the new ones, marked."""
    decision = gate([good_card()], [edited(good_card(), telnet)], terms(deviations=covering()))
    assert Cause.NEW_FINDING not in causes(decision)
    (finding,) = decision.cards[0].new
    assert finding.deviation is not None


@pytest.mark.parametrize("changed", [{"expires": date(2026, 11, 24)}, {"owner": ""}, {"days_too_many": 1}])
def test_a_deviation_that_covers_no_more_holds(changed: dict[str, Any]) -> None:
    """On a card that changes, what it left open is a reason, though the finding is an old one."""
    after = edited(worst_card(), lambda card: card["card"].update(name="UPS B"))
    decision = gate([worst_card()], [after], terms(deviations=covering(**changed)))
    assert causes(decision) == ["deviation"]
    assert gate([worst_card()], [after], terms(deviations=covering())).reasons == ()


def test_a_deviation_holds_from_the_band_of_what_it_leaves_open() -> None:
    """Telnet is critical: that band itself holds."""
    after = edited(worst_card(), lambda card: card["card"].update(name="UPS B"))
    by = terms(Band.CRITICAL, covering(owner=""))
    assert causes(gate([worst_card()], [after], by)) == ["deviation"]


def test_what_got_better_is_told() -> None:
    """Telnet is turned off: mended, and nothing holds."""
    decision = gate([edited(good_card(), telnet)], [good_card()])
    assert not decision.held
    assert [finding.rule.id for finding in decision.cards[0].mended] == ["telnet-enabled"]


def test_many_cards_are_judged_as_each_by_itself() -> None:
    """Compiled rules, from twenty records on, say the same as the plain ones."""
    worse: list[Any] = [telnet, lambda card: card.pop("log"), lambda card: card["card"].update(contact="x")]
    olds = [good_card(f"card-{number:02}") for number in range(12)]
    news = [edited(card, worse[number % 3]) for number, card in enumerate(olds)]
    together = gate(olds, news)
    apart = [gate([old], [new]) for old, new in zip(olds, news, strict=True)]
    assert [_told(card) for card in together.cards] == [_told(card) for one in apart for card in one.cards]
    assert causes(together) == [cause for one in apart for cause in causes(one)]


def _told(card: CardChange) -> tuple[Any, ...]:
    assert card.after is not None
    assessment = card.after.assessment
    outcomes = [(each.rule.id, each.outcome, each.passed, each.counted) for each in assessment.results]
    return card.card_id, card.moves, card.new, card.lost, card.new_ways, outcomes, assessment.score


def test_another_spelling_of_a_record_is_no_change() -> None:
    """Members in another order are the same settings."""
    turned = dict(reversed(good_card().items()))
    assert gate([good_card()], [turned]).cards == ()


EDITS: dict[str, Any] = {
    "telnet": telnet,
    "log": lambda card: card.pop("log", None),
    "office": lambda card: card["equipment"].update(feeds="office"),
    "life": lambda card: card["equipment"].update(feeds="life_safety"),
    "session": lambda card: card.update(access_policy={"session_timeout_s": 86400}),
    "known": lambda card: card.setdefault("log", {}).update(capacity_events=1, events_per_day=10),
    "account": lambda card: card["accounts"].append({"name": "n", "enabled": True, "is_shared": True}),
    "sealed": lambda card: card["accounts"][0].update(password={"empty": True}),
    "name": lambda card: card["card"].update(name="other"),
}


@settings(max_examples=60)
@given(
    st.lists(st.sampled_from(sorted(EDITS)), max_size=4),
    st.lists(st.sampled_from(sorted(EDITS)), max_size=4),
    st.sampled_from([Band.LOW, Band.MEDIUM, Band.HIGH, Band.CRITICAL]),
    st.sampled_from([None, covering(), covering(owner="")]),
    st.sampled_from(["", "gone", "renamed"]),
)
def test_it_holds_exactly_for_the_listed_reasons(
    first: list[str], second: list[str], band: Band, accepted: DeviationSet | None, fate: str
) -> None:
    """Read off the changes again, independently of how the reasons are made."""
    before = edited(good_card(), *(EDITS[name] for name in first))
    after = edited(before, *(EDITS[name] for name in second))
    other = edited(good_card("other-1"), lambda card: card["card"].update(serial_number="ZX-1"))
    others = {
        "": [other],
        "gone": [],
        "renamed": [edited(other, lambda card: card["card"].update(id="other-2"))],
    }
    by = terms(band, accepted)
    decision = gate([before, other], [after, *others[fate]], by)
    expected: Counter[str] = Counter({"card-removed": fate == "gone", "card-renamed": fate == "renamed"})
    for card in decision.cards:
        open_ones = [f for f in card.new if f.deviation is None]
        expected["new-finding"] += sum(f.band >= band for f in open_ones)
        worse = [pair.after for pair in card.worsened if pair.after.deviation is None]
        expected["worsened-finding"] += sum(f.band >= band for f in worse)
        expected["evidence-lost"] += len({lost.pointer for lost in card.lost})
        expected["way-to-switch-off"] += len({way.pointer for way in card.new_ways})
        expected["clear-secret"] += len(card.clear)
        found = card.after.assessment.findings if card.after else ()
        unsigned = accepted is not None and not accepted.deviations[0].owner
        telnets = [f for f in found if f.rule.id == "telnet-enabled" and f.band >= band]
        expected["deviation"] += unsigned and bool(telnets)
    assert Counter(causes(decision)) == +expected
    assert decision.held is bool(+expected)
    assert not gate([after], [after], by).held
