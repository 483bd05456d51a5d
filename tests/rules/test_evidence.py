"""Evidence in words: what is shown, and what never is."""

from dataclasses import replace

import pytest

from auditor.facts.catalogue import FACTS
from auditor.rules.condition import Enough, Leaf, Seen, Subject
from auditor.rules.evidence import Wording, expected, is_shown, value_text, word
from auditor.rules.rule import Parameter

WORDING = Wording(FACTS, {"limit_s": Parameter("limit_s", 900, "s", "m", "s")})


def seen(pointer: str, observed: object, **leaf: object) -> Seen:
    """Return a setting as a condition saw it."""
    given = {"operator": "equals", "operand": False, **leaf}
    return Seen(pointer, observed, Leaf(Subject.AT, pointer, **given))  # type: ignore[arg-type]


def test_a_shown_setting_says_what_was_observed_and_expected() -> None:
    """A truth is written as JSON writes it."""
    evidence = word(seen("/services/telnet/enabled", observed=True), WORDING)
    assert (evidence.observed, evidence.expected) == ("true", "false")


def test_an_absent_setting_is_not_captured() -> None:
    """Absent is unknown, and is said so."""
    assert word(seen("/services/telnet/enabled", None), WORDING).observed == "not captured"


def test_a_parameter_is_named_with_its_unit() -> None:
    """The reader sees which threshold decided, and in what unit."""
    leaf = seen(
        "/access_policy/session_timeout_s", 1200, operator="at_most", operand=900, parameter="limit_s"
    )
    assert word(leaf, WORDING).expected == "at most 900 s (parameter limit_s)"


def test_an_empty_list_is_none() -> None:
    """A list that has no members decided: none is configured."""
    evidence = word(Seen("/mail/recipients", (), None), WORDING)
    assert (evidence.observed, evidence.expected) == ("none", "at least one")


def test_a_list_that_was_not_captured_is_said_so() -> None:
    """A list that is absent decided nothing: it is unknown."""
    evidence = word(Seen("/mail/recipients", None, None), WORDING)
    assert (evidence.observed, evidence.expected) == ("not captured", "known")


def test_a_precondition_is_asked_to_be_known_and_no_more() -> None:
    """Whether a rule applies is no advice: a service that is perhaps off need not be switched on."""
    leaf = seen("/services/bacnet_ip/enabled", None, operand=True)
    evidence = word(replace(leaf, precondition=True), WORDING)
    assert (evidence.observed, evidence.expected) == ("not captured", "known")


@pytest.mark.parametrize(
    ("enough", "words"),
    [
        ((Enough.ANOTHER,), "false, or else another of these"),
        ((Enough.MEMBER,), "false, in one member"),
        ((Enough.ANOTHER, Enough.MEMBER), "false, or else another of these, in one member"),
        ((), "false"),
    ],
)
def test_a_choice_is_said_behind_what_is_expected(enough: tuple[Enough, ...], words: str) -> None:
    """Each row of several says that it is one of several, so that nobody changes all of them."""
    leaf = seen("/services/telnet/enabled", observed=True)
    assert word(replace(leaf, enough=enough), WORDING).asked == words


def test_a_secret_of_a_list_member_stays_hidden() -> None:
    """A leaf about the member names the setting; it repeats no value that is not marked as shown."""
    pointer = "/accounts/0/password/clear"
    leaf = Leaf(Subject.ITS, "/password/clear", "equals", "other")
    assert word(Seen(pointer, "MARKER", leaf), WORDING).observed == "set (not shown)"


@pytest.mark.parametrize(
    ("operand", "negated", "words"),
    [
        (True, False, "at least one"),
        (False, False, "none"),
        (True, True, "none"),
        (False, True, "at least one"),
    ],
)
def test_a_list_is_expected_to_have_items_or_none(*, operand: bool, negated: bool, words: str) -> None:
    """Denied, the question for items is worded the other way round."""
    leaf = Leaf(Subject.AT, "/mail/recipients", "has_items", operand)
    assert expected(leaf, negated=negated) == words


def test_what_must_be_known_is_expected_to_be_known() -> None:
    """No made-up bound stands in for it."""
    leaf = seen("/time/timezone", None, operator="is_known", operand=True)
    assert (word(leaf, WORDING).observed, word(leaf, WORDING).expected) == ("not captured", "known")


def test_a_list_that_is_cut_says_how_long_it_is() -> None:
    """So a reader knows that there is more than what stands there."""
    short, long = ("http", "ssh"), tuple(f"account person-{number} over http" for number in range(38))
    assert value_text(short) == "http, ssh"
    assert value_text(long).startswith("account person-0 over http, account person-1 over http, ")
    assert value_text(long).endswith("… (38 in all)")
    assert len(value_text(long)) == 120


def test_the_settings_of_one_way_are_said_to_be_of_the_first_alone() -> None:
    """Nobody who changes one of them believes that all that a fact names is gone."""
    part = replace(seen("/services/telnet/enabled", observed=True), is_part=True)
    evidence = word(part, WORDING)
    assert evidence.asked == "another value, or else another of these, for the first that is named"


def test_long_text_is_cut() -> None:
    """Ten megabytes of text do not reach a report."""
    assert len(word(seen("/card/name", "x" * 10_000_000, operand="y"), WORDING).observed) == 120


@pytest.mark.parametrize(
    "pointer",
    [
        "/accounts/0/password",
        "/accounts/0/password/clear",
        "/accounts/0/password/crypt",
        "/snmp/communities/0/community/clear",
        "/snmp/users/0/auth_secret/localized",
        "/directory/radius/servers/0/shared_secret/sealed/tag",
        "/tls/certificate/pem",
        "/site_notes",
        "/access_policy/banner/text",
        "/no/such/place",
    ],
)
def test_what_is_not_marked_is_never_shown(pointer: str) -> None:
    """Secrets, free text and unknown places are named, not repeated."""
    assert not is_shown(pointer)
    assert word(seen(pointer, "MARKER", operand="other"), WORDING).observed == "set (not shown)"
