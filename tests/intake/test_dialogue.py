"""The dialogue: it asks for everything, checks at once, stops anywhere, and repeats no secret."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.intake.dialogue import Dialogue, Question, Reply, answer, begin, converse
from auditor.intake.partial import without_value
from auditor.record.pointer import split, value_at
from auditor.record.reading import raw_settings, read_record
from auditor.record.settings import Settings
from auditor.record.visit import NOT_READ, VISIT, leaves_of
from tests.intake.by_hand import CARDS, said, without_schema
from tests.intake.sitting import Knower
from tests.record.mutations import compliant

SECRET = "Violet-harbour-91"  # noqa: S105 - a secret made up for these tests
START: Settings = {"card": {"id": "ups-07"}, "capture": {"method": "by_hand"}}


def clock() -> datetime:
    """Return the fixed moment of all tests."""
    return datetime(2026, 11, 25, 12, 0, 0, 123, tzinfo=UTC)


def start(at: str = "", known: Settings = START) -> Dialogue:
    """Begin a dialogue at a question."""
    return begin(known, clock, at)


def replies(dialogue: Dialogue, *answers: str) -> Reply:
    """Give answers one after the other, and return what came of the last."""
    reply = Reply(dialogue)
    for text in answers:
        reply = answer(reply.dialogue, text)
    return reply


def told(card: Settings) -> Settings:
    """Return what a dialogue can learn of a card: all but files, and secrets only in clear or empty."""
    kept = without_schema(card)
    for tokens in NOT_READ - {("capture", "method")}:
        kept = without_value(kept, tokens)
    return said(_plain(kept))


def _plain(value: Any) -> Any:
    if isinstance(value, list):
        return [_plain(member) for member in value]
    if not isinstance(value, dict):
        return value
    return {} if {"crypt", "localized", "sealed"} & set(value) else {k: _plain(v) for k, v in value.items()}


@given(CARDS)
@settings(deadline=None, max_examples=10)
def test_answering_everything_gives_the_card(card: Settings) -> None:
    """Whoever knows a card and answers each question has its record at the end."""
    target = told(card)
    beginning = {"card": {"id": target["card"]["id"]}}
    if "method" in target.get("capture", {}):
        beginning["capture"] = {"method": target["capture"]["method"]}
    end = converse(begin(beginning, clock), Knower(target).answer, _fail, lambda _: None)
    assert end.question() is None
    assert without_schema(end.record()) == target


def _fail(said: str) -> None:
    raise AssertionError(said)


@given(CARDS, st.lists(st.integers(0, 60), max_size=8))
@settings(deadline=None, max_examples=5)
def test_stopping_and_going_on_gives_the_same_record(card: Settings, stops: list[int]) -> None:
    """However often somebody stops, with only record and pointer kept, the end is that of one sitting."""
    target = told(card)
    knower = Knower(target)
    whole = converse(start(known=_beginning(target)), knower.answer, _fail, lambda _: None).record()
    dialogue = start(known=_beginning(target))
    for after in stops:
        kept = _sitting(dialogue, knower, after)
        record = read_record(orjson.dumps(kept.record()), "kept.json")
        dialogue = begin(raw_settings(record), clock, kept.at)
    assert converse(dialogue, knower.answer, _fail, lambda _: None).record() == whole


def _beginning(target: Settings) -> Settings:
    return {"card": {"id": target["card"]["id"]}}


def _sitting(dialogue: Dialogue, knower: Knower, answers: int) -> Dialogue:
    """Answer so many questions, then stop in the middle; return what was last saved."""
    saved = [dialogue]
    left = iter(range(answers))

    def ask(question: Question) -> str | None:
        if next(left, None) is not None:
            return knower.answer(question)
        return None if question.hidden else "stop"

    converse(dialogue, ask, _fail, saved.append)
    return saved[-1]


def test_every_setting_that_a_visit_reads_is_asked_for() -> None:
    """With one member in every list, each setting of the visit is asked for once."""
    dialogue, asked = start(known={"card": {"id": "a"}}), []
    while (question := dialogue.question()) is not None:
        asked.append(question.pointer)
        tokens = split(question.pointer)
        more = "yes" if tokens[-1] == "-" and "one?" in question.text else "no"
        text = more if tokens[-1] == "-" else "x" if question.pointer == "/accounts/0/name" else ""
        dialogue = answer(dialogue, text).dialogue
    leaves = [leaf for stop in VISIT for section in stop.sections for leaf in leaves_of(section)]
    lists = sum(leaf.kind == "members" for leaf in leaves)
    assert len(asked) - len(set(asked)) == lists  # twice each: is there one, is there another
    assert len(set(asked)) == len(leaves) - 1  # the id is known


def test_what_a_record_knows_is_not_asked_again() -> None:
    """A dialogue about a record asks only for what it leaves unknown."""
    card = compliant()
    del card["accounts"][1]["role"]
    asked: list[str] = []

    def ask(question: Question) -> str:
        asked.append(question.pointer)
        return ""

    converse(begin(card, clock), ask, _fail, lambda _: None)
    known = [at for at in asked if value_at(card, split(at)) is not None]
    assert known == []
    assert "/accounts/1/role" in asked


def test_an_answer_is_checked_at_once() -> None:
    """A wrong answer changes nothing, and says what is allowed; the right one goes on."""
    dialogue = start("/services/telnet/port")
    wrong = answer(dialogue, "70000")
    assert wrong.dialogue is dialogue
    assert wrong.said.startswith("Expected a whole number, 1 to 65535; found 70000.\n  ")
    right = answer(dialogue, "23").dialogue
    assert right.settings["services"] == {"telnet": {"port": 23}}
    assert right.at == "/services/telnet/allowed_sources"


@pytest.mark.parametrize(
    ("at", "text", "value"),
    [
        ("/services/serial_console/enabled", "Yes", True),
        ("/capture/reference_clock", "now", "2026-11-25T12:00:00+00:00"),
        ("/card/installed_on", "today", "2026-11-25"),
        ("/card/location", '"stop"', "stop"),
        ("/network/allowed_sources", "nobody", {"prefixes": []}),
        ("/tls/versions", "tls_1_2; tls_1_3", ["tls_1_2", "tls_1_3"]),
    ],
)
def test_an_answer_is_recorded_as_meant(at: str, text: str, value: object) -> None:
    """Truths, the present moment, commands in quotation marks, sources and lists."""
    assert value_at(answer(start(at), text).dialogue.settings, split(at)) == value


def test_nothing_is_unknown() -> None:
    """An empty answer leaves the setting out, and goes on."""
    after = answer(start("/services/telnet/port"), "  ").dialogue
    assert (after.settings, after.at) == (START, "/services/telnet/allowed_sources")


def test_help_explains_and_stays() -> None:
    """The question mark tells meaning, allowed values and commands."""
    dialogue = start("/services/telnet/enabled")
    reply = answer(dialogue, "?")
    assert reply.dialogue is dialogue
    assert reply.said.splitlines()[:2] == ["Yes when the service answers or runs.", "Allowed: yes or no."]
    assert "stop stops" in reply.said


def test_back_leads_to_the_question_before_and_shows_what_is_recorded() -> None:
    """A known answer is shown, kept by an empty answer, and replaced by another."""
    back = replies(start("/services/telnet/port"), "23", "back").dialogue
    question = back.question()
    assert question is not None
    assert (question.pointer, question.known) == ("/services/telnet/port", "23")
    assert answer(back, "").dialogue.settings["services"]["telnet"]["port"] == 23
    assert answer(back, "2323").dialogue.settings["services"]["telnet"]["port"] == 2323
    assert answer(start("/services/serial_console/enabled"), "back").said == "This is the first question."


def test_forget_makes_unknown_again() -> None:
    """What was answered can be taken back; empty objects go with it."""
    reply = replies(start("/services/telnet/port"), "23", "back", "forget")
    assert (reply.dialogue.settings, reply.said) == (START, "Unknown again.")


def test_skip_leaves_the_rest_of_a_group() -> None:
    """After skip in one service, the next service is asked about."""
    assert answer(start("/services/telnet/enabled"), "skip").dialogue.at == "/services/ssh/enabled"


def test_members_are_added_one_by_one() -> None:
    """Yes makes a member, no ends the list; no at once says that there is none."""
    two = replies(start("/snmp/communities/-"), "yes", "skip", "yes", "skip", "no").dialogue
    assert two.settings["snmp"]["communities"] == [{}, {}]
    assert answer(start("/snmp/communities/-"), "no").dialogue.settings["snmp"]["communities"] == []
    assert answer(start("/snmp/communities/-"), "").dialogue.settings == START
    assert "expected yes or no" in answer(start("/snmp/communities/-"), "3").said.casefold()


def test_a_whole_list_can_be_taken_back() -> None:
    """Forget at the question for another member makes the list unknown."""
    dialogue = replies(start("/snmp/communities/-"), "yes", "skip", "forget").dialogue
    assert (dialogue.settings, dialogue.at) == (START, "/snmp/communities/-")


def test_an_account_needs_its_name() -> None:
    """Neither nothing nor skip goes past it; forget leaves the account out, and so does stopping."""
    dialogue = replies(start("/accounts/-"), "yes").dialogue
    assert dialogue.at == "/accounts/0/name"
    for text in ("", "skip"):
        assert "Each one needs this" in answer(dialogue, text).said
    out = answer(dialogue, "forget").dialogue
    assert (out.settings, out.at) == (START, "/accounts/-")
    assert "accounts" not in dialogue.record()
    assert begin(dialogue.record(), clock, dialogue.at).at == "/accounts/-"
    named = replies(dialogue, "admin", "back", "forget")
    assert named.said == "Each one needs this: write another answer instead."


@pytest.mark.parametrize(
    ("form", "typed", "kept"),
    [
        ("clear", SECRET, {"clear": SECRET}),
        ("clear", f" {SECRET}\t", {"clear": f" {SECRET}\t"}),
        ("clear", "stop", {"clear": "stop"}),
        ("length", SECRET, {"sealed": {"length": len(SECRET)}}),
        ("crypt", "$6$salt$hash", {"crypt": "$6$salt$hash"}),
        ("localized", "0a" * 16, {"localized": "0a" * 16}),
    ],
)
def test_a_secret_is_typed_unseen_and_kept_as_chosen(form: str, typed: str, kept: object) -> None:
    """First how, then what; no command and no blank is taken out of a secret."""
    chosen = answer(start("/mail/password"), form).dialogue
    question = chosen.question()
    assert question is not None
    assert question.hidden
    after = answer(chosen, typed).dialogue
    assert after.settings["mail"]["password"] == kept
    assert after.at == "/mail/from_address"


def test_an_empty_secret_is_said_and_an_untyped_one_is_unknown() -> None:
    """The choice empty records the empty text; typing nothing leaves the secret unknown."""
    assert answer(start("/mail/password"), "empty").dialogue.settings["mail"] == {"password": {"empty": True}}
    unknown = replies(start("/mail/password"), "clear", "").dialogue
    assert (unknown.settings, unknown.at) == (START, "/mail/from_address")


def outputs(dialogue: Dialogue, *answers: str) -> Iterator[str]:
    """Yield everything that a dialogue shows while it takes answers."""
    for text in answers:
        yield repr(dialogue.question())
        reply = answer(dialogue, text)
        dialogue = reply.dialogue
        yield from (reply.said, repr(reply), repr(dialogue), dialogue.at)
    yield repr(dialogue.question())


@pytest.mark.parametrize(
    "answers",
    [
        (SECRET, f"clear:{SECRET}"),
        ("clear", SECRET, "back", "back", "?"),
        ("length", SECRET, "back", "?"),
        ("localized", SECRET, "crypt", SECRET, "?"),
        ("clear", SECRET * 1000),
    ],
    ids=["typed too early", "kept", "length", "wrong form", "too long"],
)
def test_no_secret_is_ever_shown(answers: tuple[str, ...]) -> None:
    """Neither question, answer, fault nor repr repeats a secret, in the wrong place or form neither."""
    assert [text for text in outputs(start("/mail/password"), *answers) if SECRET in text] == []


def test_a_mask_is_refused_as_a_secret() -> None:
    """Asterisks read off a page are no secret; the question is asked again."""
    reply = replies(start("/mail/password"), "length", "********")
    assert "a masked value is not a secret" in reply.said.casefold()
    assert reply.dialogue.settings == START
    assert reply.dialogue.at == "/mail/password"


def test_a_hidden_text_is_not_shown_either() -> None:
    """What the schema does not mark as safe to show is only said to be recorded."""
    question = replies(start("/access_policy/banner/text"), "Authorised use only", "back").dialogue.question()
    assert question is not None
    assert question.known == "recorded"


def test_stop_and_the_end_of_answers_end_a_dialogue() -> None:
    """Both leave the dialogue where it is, with everything saved before."""
    saved: list[Dialogue] = []
    answers = iter(["yes", "stop"])
    stopped = converse(start(), lambda _: next(answers), _fail, saved.append)
    assert saved[-1] is stopped
    assert stopped.at == "/services/serial_console/requires_login"
    assert converse(stopped, lambda _: None, _fail, saved.append) is stopped


@pytest.mark.parametrize("at", ["", "/nothing", "/accounts/7/name", "/card"])
def test_a_pointer_to_no_question_still_begins(at: str) -> None:
    """A pointer of an older record, or to a member that is gone, leads to an open question."""
    dialogue = start(at)
    assert dialogue.at == ("/accounts/-" if "accounts" in at else "/services/serial_console/enabled")


def test_a_certificate_in_the_record_answers_for_itself() -> None:
    """Where the PEM is there, only what it can't tell is asked."""
    pem = "-----BEGIN CERTIFICATE-----\n"
    known = {**START, "tls": {"versions": [], "cipher_suites": [], "certificate": {"pem": pem}}}
    assert replies(start("/tls/certificate/is_factory", known), "no").dialogue.at == "/ssh/versions"
