"""What the records of a run share changes what is done, never what is said."""

from collections.abc import Mapping
from typing import Any

import orjson
import pytest

from auditor.facts.catalogue import FACTS
from auditor.facts.fact import Context, Settings
from auditor.facts.words import well_known_words
from auditor.record.digests import Digests
from auditor.record.reading import Record, read_record
from auditor.rules import sharing
from auditor.rules.program import Shared, all_results, judge_card, make_program, sharing_of
from auditor.rules.sharing import Places, Sharing, Watched
from auditor.rules.tailoring import Tailoring
from auditor.rules.unusual import Batch, Unusual
from tests.rules.matrix import AS_OF, ROOT, card_of, read_cases, rulesets, word_keys

PROGRAM = make_program(rulesets(), Tailoring(), FACTS)
CONTEXT = Context(AS_OF, well_known_words(), word_keys=word_keys(), in_work_tree=False)
NOTHING = Unusual((), {})


def said(record: Record, known: Shared | None) -> list[tuple[object, ...]]:
    """Return all that the rules say of a record, evidence included."""
    unusual = judge_card(PROGRAM, record.settings, CONTEXT, known=known).unusual
    results = all_results(PROGRAM, unusual)
    return [(each.rule.id, each.outcome, each.passed, each.counted, each.departures) for each in results]


def test_every_case_is_judged_after_all_others_as_it_is_alone() -> None:
    """Each case is the compliant card but for a setting or two: so nearly everything is shared."""
    shared = sharing_of(PROGRAM, CONTEXT)
    cards = [orjson.dumps(card_of(case)) for case in read_cases() if not case.parameters]
    for number, text in enumerate(dict.fromkeys(cards)):
        record = read_record(text, f"{number}.json")
        assert record.digests is not None
        assert said(record, Shared(shared, record.digests)) == said(record, None), text


def test_a_fact_that_fails_makes_an_error_of_its_rules_only_for_every_card() -> None:
    """An error is shared like any other result."""
    card = (ROOT / "fixtures/cards/compliant.json").read_bytes()
    record = read_record(card, "card.json")
    assert record.digests is not None

    def fails(*_: object) -> None:
        raise ZeroDivisionError

    facts = {**FACTS, "log_days": FACTS["log_days"].__class__("log_days", "", "", "", ("/log",), "", fails)}
    program = make_program(rulesets(), Tailoring(), facts)
    shared = Shared(sharing_of(program, CONTEXT), record.digests)
    alone = judge_card(program, record.settings, CONTEXT).unusual
    for _ in range(2):
        together = judge_card(program, record.settings, CONTEXT, known=shared).unusual
        assert {place: r.outcome for place, r in together.items()} == {p: r.outcome for p, r in alone.items()}


class Asked:
    """A judge that looks at a section by name, and at another where that is a certain one."""

    def __init__(self) -> None:
        """Begin with no record seen."""
        self.records: list[Settings] = []

    def __call__(self, _places: Places, settings: Settings) -> Unusual:
        """Look at ``log``, and at ``mail`` where there is a log."""
        self.records.append(settings)
        if settings.get("log"):
            settings.get("mail")
        return Unusual((), {len(self.records): None})  # type: ignore[dict-item]


def judged(shared: Sharing, settings: Mapping[str, Any]) -> int:
    """Return which asking gave what is said of settings: the first, the second, and so on."""
    digests = Digests({name: hash(orjson.dumps(section)) for name, section in settings.items()})
    (number,) = shared.judge(dict(settings), digests).single
    return number


def test_what_is_said_is_said_again_where_all_that_was_looked_at_is_equal() -> None:
    """Sections that nobody looked at make no difference."""
    ask = Asked()
    shared = Sharing([(0,)], ask)
    assert judged(shared, {"log": 1, "mail": 1, "card": 1}) == 1
    assert judged(shared, {"log": 1, "mail": 1, "card": 2}) == 1
    assert judged(shared, {"log": 1, "mail": 2, "card": 1}) == 2
    assert judged(shared, {"mail": 2}) == 3
    assert judged(shared, {"mail": 1}) == 3  # without a log, nobody looked at the mail
    assert judged(shared, {"log": 0, "mail": 1}) == 4
    assert judged(shared, {"log": 1, "mail": 2}) == 2
    assert len(ask.records) == 4


def test_no_more_is_kept_than_the_most(monkeypatch: pytest.MonkeyPatch) -> None:
    """Memory does not grow with the estate."""
    monkeypatch.setattr(sharing, "_MOST_KEPT", 3)
    shared = Sharing([(0,)], Asked())
    for number in range(3):
        judged(shared, {"log": number + 1})
    assert judged(shared, {"log": 1}) == 1
    assert judged(shared, {"log": 4}) == 4
    assert judged(shared, {"log": 1}) == 5
    assert judged(shared, {"log": 4}) == 4


def test_where_hardly_anything_comes_again_nothing_is_watched_any_more(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Watching and keeping cost time, which rules on what differs everywhere do not give back."""
    monkeypatch.setattr(sharing, "_TRIAL", 4)
    ask = Asked()
    shared = Sharing([(0,)], ask)
    for number in range(6):
        judged(shared, {"log": number})
    assert [type(each) is Watched for each in ask.records] == [True] * 4 + [False] * 2


def test_what_does_not_pay_is_judged_together(monkeypatch: pytest.MonkeyPatch) -> None:
    """Other rules go on being kept."""
    monkeypatch.setattr(sharing, "_TRIAL", 4)
    asked: list[Places] = []

    def judge(places: Places, settings: Settings) -> Unusual:
        asked.append(places)
        settings.get("log" if places == (1,) else "mail")
        return NOTHING

    shared = Sharing([(0,), (1,), (2,)], judge)
    for number in range(6):
        shared.judge({}, Digests({"log": 0, "mail": number}))
    assert asked == [(0,), (1,), (2,), *[(0,), (2,)] * 3, (0, 2), (0, 2)]


def test_what_nothing_was_known_of_at_first_is_left_before_the_trial_ends(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """What is each card's own shows early; of what was known once, the trial tells."""
    monkeypatch.setattr(sharing, "_FIRST_LOOK", 3)
    for records, watched in (([1, 2, 3, 4, 5], 3), ([1, 1, 2, 3, 4], 4)):
        ask = Asked()
        shared = Sharing([(0,)], ask)
        for number in records:
            judged(shared, {"log": number})
        assert [type(each) for each in ask.records].count(Watched) == watched


def test_batches_that_come_together_are_one_and_the_same(monkeypatch: pytest.MonkeyPatch) -> None:
    """They say the same together; of more kinds than are kept they stay as they came."""
    monkeypatch.setattr(sharing, "_MOST_JOINED", 1)
    usual = PROGRAM.usual
    batches = [Batch({place: usual[place]}, place) for place in range(4)]
    together = {1: batches[:2], 2: batches[2:]}
    shared = Sharing([(0,)], lambda _places, settings: Unusual(together[settings.get("log", 0) % 3], {}))
    first, again, other = (
        shared.judge({"log": number}, Digests({"log": number})).batches for number in (1, 4, 2)
    )
    assert first[0] is again[0]
    assert (len(first), dict(first[0].results), first[0].counted) == (1, {0: usual[0], 1: usual[1]}, 1)
    assert other == batches[2:]


def whole() -> dict[str, Any]:
    """Return settings of which one section is told member by member."""
    return {"log": {"a": 1}, "mail": {}, "network": {"hostname": "ups", "dns": {"b": 2}}}


@pytest.mark.parametrize(
    ("look", "seen"),
    [
        (lambda w: w.get("log"), {"log"}),
        (lambda w: w["log"], {"log"}),
        (lambda w: "log" in w, {"log"}),
        (lambda w: w.get("log", {}).get("a"), {"log"}),
        (lambda w: not w.get("tls", {}), {"tls"}),
        (lambda w: w["network"]["dns"]["b"], {"network", "network/dns"}),
        (lambda w: w.get("network", {}).get("hostname"), {"network", "network/hostname"}),
        (lambda w: w.get("network", {}).get("vlan") is None, {"network", "network/vlan"}),
    ],
)
def test_where_one_looks_is_noted(look: Any, seen: set[str]) -> None:
    """However a fact looks, and also where nothing is."""
    noted: set[str] = set()
    assert look(Watched(whole(), noted))
    assert noted == seen


@pytest.mark.parametrize("look", [dict, list, lambda w: {**w}, lambda w: w.items(), lambda w: w.values()])
def test_going_over_all_looks_at_what_is_not_there_too(look: Any) -> None:
    """A record with one section more, or one member more, would have shown it."""
    noted: set[str] = set()
    assert look(Watched(whole(), noted))
    assert {"log", "mail", "network", "snmp", "accounts"} <= noted
    noted = set()
    assert look(Watched(whole(), noted)["network"])
    assert {"network/hostname", "network/interfaces"} <= noted
