"""The ways in as reports order, join and word them."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.reach.way import Channel, Grade, Origin, Place, Proof, Way
from auditor.report.reach_view import LOCK_OUT, CardReach, ordered
from auditor.report.way_words import (
    ALLOWED,
    CHANNELS,
    MAY_SWITCH,
    PROOFS,
    SWITCHES,
    addresses_words,
    allowed_words,
    notes_of,
    origin_words,
    proof_words,
    short_origin_words,
    short_proof_words,
)
from tests.report.sample import assess_cards, bare_card, make_run, reach_card, reach_in

ANYWHERE = Origin(Place.NETWORK, any_address=True, ipv4_addresses=1 << 32, ipv6_addresses=1 << 128)
LISTED = Origin(Place.NETWORK, prefixes=("192.0.2.0/28",), ipv4_addresses=16)
TRUTHS = st.sampled_from([True, False, None])


def grades() -> st.SearchStrategy[Grade]:
    """Draw a grade: one proof, or a span of comparable ones."""
    ranked = [Proof.NONE, Proof.WELL_KNOWN, Proof.FACTORY, Proof.WEAK, Proof.ADEQUATE, Proof.STRONG]
    spans = st.tuples(st.integers(0, 5), st.integers(0, 5)).map(sorted)
    comparable = spans.map(lambda span: Grade(ranked[span[0]], ranked[span[1]]))
    return st.one_of(comparable, st.just(Grade(Proof.DIRECTORY, Proof.DIRECTORY)))


def some_ways() -> st.SearchStrategy[list[Way]]:
    """Draw ways of every kind."""
    origins = st.sampled_from([ANYWHERE, LISTED, Origin(Place.PRESENCE), Origin(Place.NETWORK, None, None)])
    made = st.builds(
        Way,
        channel=st.sampled_from(list(Channel)),
        party=st.sampled_from(["account a", "account b", "anyone"]),
        pointer=st.just("/services/http/enabled"),
        settings=st.just(("/services/http/enabled",)),
        is_open=st.sampled_from([True, None]),
        reads=TRUTHS,
        configures=TRUTHS,
        switches=TRUTHS,
        grade=grades(),
        proof_at=st.just("/accounts/0/password"),
        in_clear=TRUTHS,
        origin=origins,
        condition=st.sampled_from(["", "while the directory can't be reached"]),
        confirmation=TRUTHS,
    )
    return st.lists(made, max_size=12)


def _reach(card: dict[str, Any]) -> CardReach:
    (assessment,) = assess_cards(make_run(), [card])
    return reach_in(assessment)


def test_every_channel_and_proof_has_its_words() -> None:
    """No way is shown by the name of an enumeration."""
    assert set(CHANNELS) == set(Channel)
    assert set(PROOFS) == set(Proof)
    assert len(set(CHANNELS.values())) == len(Channel)


def test_the_gravest_ways_come_first() -> None:
    """Switching before changing before reading; in each the minimal ones, the poorest proof first."""
    reach = _reach(reach_card())
    first, *others = reach.lanes
    assert (first.channels, first.parties, first.is_minimal) == (("SNMPv2c",), ("community old|one",), True)
    (modbus,) = [lane for lane in others if lane.channels == ("Modbus TCP",)]
    assert (modbus.is_minimal, origin_words(modbus.way.origin)) == (False, "192.0.2.0/28")
    keys = [(ALLOWED.index(lane.allows), not lane.is_minimal) for lane in reach.lanes]
    assert keys == sorted(keys)


def test_ways_that_differ_in_channel_and_party_alone_are_one_lane() -> None:
    """HTTP and Telnet let the same two in with the same right; each way is still there, once."""
    reach = _reach(reach_card())
    (lane,) = [lane for lane in reach.lanes if "Telnet" in lane.channels and "account keeper" in lane.parties]
    assert lane.channels == ("web, HTTP", "Telnet")
    assert sum(len(lane.ways) for lane in reach.lanes) == len(reach.ways)


@given(some_ways())
def test_lanes_hold_every_way_once_and_alike(found: list[Way]) -> None:
    """A lane joins nothing that differs in proof, place, clear text or what it allows."""
    reach = ordered(found)
    joined = [way for lane in reach.lanes for way in lane.ways]
    assert sorted(map(repr, joined)) == sorted(map(repr, found))
    for lane in reach.lanes:
        assert len({(way.grade, way.origin, way.in_clear, allowed_words(way)) for way in lane.ways}) == 1
        assert len(lane.ways) >= max(len(lane.channels), len(lane.parties))


@given(some_ways())
def test_what_is_not_known_is_never_told_as_known(found: list[Way]) -> None:
    """Only a way that is surely open and surely switches is said to switch; the sums count all."""
    reach = ordered(found)
    for way, _ in reach.ways:
        assert (allowed_words(way) == SWITCHES) == bool(way.is_open and way.switches)
        assert (way.grade.proof is Proof.UNKNOWN) == ("not known" in proof_words(way.grade))
    assert sum(reach.number(allowed) for allowed in ALLOWED) == len(found)
    assert (reach.easiest is None) == (reach.number(SWITCHES) == 0)


def test_a_card_of_which_little_is_known_says_that_ways_may_switch() -> None:
    """The sentence neither alarms nor soothes."""
    reach = _reach(bare_card())
    perhaps = reach.number(MAY_SWITCH)
    assert perhaps > 0
    assert reach.sentence == f"No way is known for certain to switch outputs, but {perhaps} ways may."


def test_the_sentence_names_the_easiest_way() -> None:
    """Channel, who, proof and from where, in one line."""
    assert _reach(reach_card()).sentence == (
        "The easiest that is known: SNMPv2c, community old|one, no proof, "
        "from any address, perhaps the internet too."
    )


def test_one_change_is_named_with_its_caution() -> None:
    """Not to take output commands closes most; whoever works that way is asked first."""
    reach = _reach(reach_card())
    assert reach.closing is not None
    assert reach.closing.unsure > 0
    assert reach.closing_sentence == (
        f"One change closes {reach.closing.closes} of them; "
        f"of {reach.closing.unsure} more it is then not known: "
        "/shutdown/remote_output_commands/enabled, don't take output commands over the network. "
        "Ask first who works that way."
    )


def test_a_change_that_shuts_somebody_out_says_so() -> None:
    """An account or a service switched off is a way in less: another is to be proved first."""
    (assessment,) = assess_cards(make_run(), [reach_card()])
    only = [way for way, _ in reach_in(assessment).ways if way.channel == "modbus_tcp"]
    assert LOCK_OUT not in ordered(only).closing_sentence
    (way,) = only
    switch = way._replace(settings=("/services/modbus_tcp/enabled",))
    assert ordered([switch]).closing_sentence.endswith(f"Ask first who works that way. {LOCK_OUT}")


def test_without_ways_and_without_settings_the_words_say_so() -> None:
    """No way at all, and no way to switch, are told apart."""
    assert ordered([]).sentence == "The record shows no way in."
    assert ordered([]).closing_sentence == ""
    (assessment,) = assess_cards(make_run(), [reach_card()])
    reading = [way._replace(switches=False) for way, _ in reach_in(assessment).ways]
    assert ordered(reading).sentence == (
        "By what the record says, nobody can switch outputs without a change of settings."
    )


@pytest.mark.parametrize(
    ("grade", "words", "short"),
    [
        (Grade(Proof.NONE, Proof.NONE), "no proof", "none"),
        (Grade(Proof.WELL_KNOWN, Proof.WELL_KNOWN), "well-known secret", "well-known"),
        (Grade(Proof.NONE, Proof.STRONG), "proof not known", "not known"),
        (Grade(Proof.WEAK, Proof.ADEQUATE), "not known: weak to adequate", "weak to adequate"),
        (Grade(Proof.DIRECTORY, Proof.DIRECTORY), "directory", "directory"),
    ],
)
def test_a_proof_that_is_not_known_says_between_which(grade: Grade, words: str, short: str) -> None:
    """A span is told by its ends, and all of them by not known."""
    assert (proof_words(grade), short_proof_words(grade)) == (words, short)


@pytest.mark.parametrize(
    ("origin", "words", "short", "addresses"),
    [
        (Origin(Place.PRESENCE), "at the card", "at the card", ""),
        (ANYWHERE, "any address", "any address", ""),
        (
            ANYWHERE._replace(is_globally_routable=True),
            "any address, the internet too",
            "the internet",
            "",
        ),
        (LISTED, "192.0.2.0/28", "192.0.2.0/28", "16 addresses"),
        (
            Origin(
                Place.NETWORK,
                prefixes=("192.0.2.1/32", "198.51.100.0/24", "203.0.113.0/24"),
                ipv4_addresses=513,
                is_globally_routable=True,
            ),
            "192.0.2.1/32, 198.51.100.0/24 and 1 more, public ones too",
            "192.0.2.1/32 +2",
            "513 addresses",
        ),
        (
            Origin(Place.NETWORK, prefixes=("2001:db8::/32",), ipv6_addresses=1 << 96),
            "2001:db8::/32",
            "2001:db8::/32",
            "more than 16,777,216 addresses",
        ),
        (
            Origin(Place.NETWORK, None, None, None, None, None),
            "addresses not known",
            "not known",
            "",
        ),
    ],
)
def test_a_place_is_told_with_its_addresses(origin: Origin, words: str, short: str, addresses: str) -> None:
    """Any address, a list with its size, a place that is no network, and what was not captured."""
    assert (origin_words(origin), short_origin_words(origin), addresses_words(origin)) == (
        words,
        short,
        addresses,
    )


def test_notes_tell_what_must_be_the_case_besides() -> None:
    """Whether it is open, on what condition, and whether switching asks again."""
    (assessment,) = assess_cards(make_run(), [reach_card()])
    way = reach_in(assessment).ways[0][0]
    assert list(notes_of(way)) == []
    told = way._replace(is_open=None, condition="while the directory can't be reached", confirmation=True)
    assert list(notes_of(told)) == [
        "whether it is open is not known",
        "only while the directory can't be reached",
        "switching asks a second time",
    ]
    assert list(notes_of(told._replace(switches=False)))[-1] == "only while the directory can't be reached"
