"""A gate's decision in every format: exact, of its schema, inert, without a secret."""

import json
import re
from functools import cache
from importlib.resources import files
from typing import Any

import jsonschema
import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from junitparser import Failure, JUnitXml
from referencing import Registry, Resource

from auditor.change.gate import Cause, Decision, Terms, Unusable, decide
from auditor.errors import Fault
from auditor.facts.fact import Context
from auditor.record.pointer import split, value_at
from auditor.record.reading import Record, read_record
from auditor.report.gate_formats import GATE_FORMATS
from auditor.report.gate_markdown import _LONGEST
from auditor.report.sarif_result import FINGERPRINT
from auditor.report.writer import Look, Run
from auditor.scoring.band import Band
from tests.change.states import SMALL, edited, record
from tests.report.hostile import PAYLOADS, hostile_card
from tests.report.sample import (
    AS_OF,
    DEVIATIONS,
    SECRET,
    bare_card,
    golden,
    good_card,
    make_run,
    poor_card,
    without_style,
    worst_card,
)
from tests.report.test_sarif import PUBLISHED, cut


def accepted_run() -> Run:
    """Return a run with deviations, over the small rules."""
    run = make_run()
    return Run(run.version, run.as_of, SMALL, run.crosswalks, deviations=DEVIATIONS)


def before() -> list[dict[str, Any]]:
    """Return four cards: one stays, one gets worse, one better, one goes."""
    bad = edited(
        good_card("north-ups-03"), lambda card: card["services"]["wifi"].update(enabled=True, security="wep")
    )
    return [bare_card(), good_card(), bad, worst_card()]


def after() -> list[dict[str, Any]]:
    """Return them after a change that does some of everything, and a card that comes."""

    def worsen(card: dict[str, Any]) -> None:
        card["services"]["telnet"]["enabled"] = True
        card["card"]["contact"] = "somebody else"
        card["snmp"]["communities"].append(
            {"name": "control", "enabled": True, "access": "write", "community": {"clear": SECRET}}
        )
        card.pop("log")

    return [
        bare_card(),
        edited(good_card(), worsen),
        edited(good_card("north-ups-03"), lambda card: card["accounts"][0].update(password={"empty": True})),
        poor_card(),
    ]


@cache
def decision() -> Decision:
    """Return the decision on the change, under deviations, its cards located."""
    by = Terms(SMALL, Context(AS_OF), Band.MEDIUM, DEVIATIONS, located=True)
    return decide(map(record, before()), map(record, after()), by)


def rendered(name: str, width: int = 80) -> bytes:
    """Return the decision in a format."""
    return GATE_FORMATS[name]()(decision(), accepted_run(), Look(width))


@pytest.mark.parametrize(
    ("file", "name", "width"),
    [
        ("gate-80.txt", "table", 80),
        ("gate-120.txt", "table", 120),
        ("gate.md", "markdown", 80),
        ("gate.json", "json", 80),
        ("gate.sarif", "sarif", 80),
        ("gate.xml", "junit", 80),
        ("gate.html", "html", 80),
    ],
)
def test_the_decision_is_exactly_the_golden_one(file: str, name: str, width: int) -> None:
    """Every word of the small change is held."""
    text = without_style(rendered(name, width))
    assert text == golden(file, text)


def schema(name: str) -> dict[str, Any]:
    """Read a schema of ours."""
    found: dict[str, Any] = orjson.loads(files("auditor.report").joinpath(name).read_bytes())
    return found


def test_the_document_holds_to_its_schema() -> None:
    """Held and released; parts of an audit's result by that schema."""
    shared = Registry().with_resource(
        "urn:witnessmark:result-1", Resource.from_contents(schema("result-1.schema.json"))
    )
    own = schema("gate-1.schema.json")
    jsonschema.Draft202012Validator.check_schema(own)
    validator = jsonschema.Draft202012Validator(own, registry=shared)
    empty = decide([], [], Terms(SMALL, Context(AS_OF), Band.MEDIUM))
    for each in (decision(), empty):
        document = orjson.loads(GATE_FORMATS["json"]()(each, accepted_run(), Look()))
        assert [f"{error.json_path}: {error.message}" for error in validator.iter_errors(document)] == []
    assert (document["decision"], document["reasons"]) == ("release", [])


def test_the_log_validates_against_the_published_schema() -> None:
    """Source: JSON Schema of SARIF 2.1.0 (OASIS), where a copy lies beside the repository."""
    if not PUBLISHED.exists():
        pytest.skip("the published schema does not lie beside the repository")
    validator = jsonschema.Draft4Validator(json.loads(PUBLISHED.read_text("utf-8")))
    errors = validator.iter_errors(orjson.loads(rendered("sarif")))
    assert [f"{error.json_path}: {error.message}" for error in errors] == []


def test_the_log_tells_new_from_old() -> None:
    """Each finding has its state against the one before; what is mended is absent, and has no place."""
    (run,) = orjson.loads(rendered("sarif"))["runs"]
    states = {
        (result["properties"]["card"], result["ruleId"]): result["baselineState"]
        for result in run["results"]
        if "properties" in result
    }
    assert states["north-ups-01", "telnet-enabled"] == "new"
    assert states["north-ups-03", "wifi-weak"] == "absent"
    assert {r["ruleId"] for r in run["results"]} <= {rule["id"] for rule in run["tool"]["driver"]["rules"]}
    assert run["invocations"][0]["properties"]["decision"].startswith("hold: ")


def test_a_case_fails_for_each_cause() -> None:
    """A suite a card; only causes that hold fail."""
    suites = {suite.name: suite for suite in JUnitXml.fromstring(rendered("junit"))}
    assert list(suites) == [card.card_id for card in decision().cards]
    failed = {
        (suite.name, case.name)
        for suite in suites.values()
        for case in suite
        if any(isinstance(result, Failure) for result in case.result)
    }
    assert failed == {(r.card_id, r.cause.value) for r in decision().reasons}


FAULTS = (
    Fault("a b.json", "/card/id", 4, 9, "expected text", "Write an id."),
    Fault("a b.json", "", 9, 1, "more", "Mend it."),
)
TERMS = Terms(SMALL, Context(AS_OF), Band.MEDIUM, located=True)


@pytest.mark.parametrize("name", GATE_FORMATS)
def test_what_can_not_be_read_holds_and_is_told_in_every_format(name: str) -> None:
    """No report of it says release, though every card that could be read may pass."""
    unusable = Unusable(before=((Fault("old.json", "", 1, 1, "not JSON", "Mend it."),),), after=(FAULTS,))
    card = record(good_card())
    found = decide([card], [card], TERMS, unusable=unusable)
    assert [reason.cause for reason in found.reasons] == [Cause.RECORD_UNUSABLE]
    text = " ".join(GATE_FORMATS[name]()(found, accepted_run(), Look(120)).decode().split())
    assert "release" not in text.lower().replace("a release says", "")
    assert "expected text" in text
    assert ("a%20b.json" if name == "sarif" else "a b.json") in text
    assert name in ("junit", "sarif") or "old.json" in text


def test_a_card_that_is_missed_may_be_in_what_can_not_be_read() -> None:
    """Nobody can say that it is gone."""
    found = decide([record(good_card())], [], TERMS, unusable=Unusable(after=(FAULTS,)))
    assert [reason.cause for reason in found.reasons] == [Cause.RECORD_UNUSABLE, Cause.CARD_REMOVED]
    assert found.reasons[1].text == "the card is gone, or in a record that can't be used"


@pytest.mark.parametrize("indent", [None, 2])
def test_a_reason_of_the_gate_points_at_its_very_setting(indent: int | None) -> None:
    """The value there; of what is no longer known, the bracket around it."""
    text = json.dumps({"site_notes": "Ä 𝄞", **after()[1]}, ensure_ascii=False, indent=indent)
    changed = decide([record(before()[1])], [read_record(text.encode(), "card.json")], TERMS)
    log = orjson.loads(GATE_FORMATS["sarif"]()(changed, accepted_run(), Look()))
    own = [result for result in log["runs"][0]["results"] if result["ruleId"].startswith("gate-")]
    assert {"gate-clear-secret", "gate-way-to-switch-off", "gate-evidence-lost"} <= {r["ruleId"] for r in own}
    for result in own:
        (place,) = result["locations"]
        pointer = place["logicalLocations"][0]["fullyQualifiedName"].partition("#")[2]
        value = value_at(json.loads(text), split(pointer))
        shown = cut(text, place["physicalLocation"]["region"])
        assert shown == "{" if value is None else json.loads(shown) == value


@given(st.randoms(use_true_random=False))
@settings(max_examples=20)
def test_a_reason_of_the_gate_is_known_again(random: Any) -> None:
    """Whatever the order of lists and members: the same fingerprints, and no two the same."""
    more = {"name": "b", "community": {"clear": SECRET}}
    card = edited(after()[1], lambda card: card["snmp"]["communities"].append(more))
    turned = edited(card, lambda card: random.shuffle(card["snmp"]["communities"]))
    known = [_known(record(before()[1]), record(each)) for each in (card, turned)]
    assert known[0] == known[1]
    assert len(known[0]) == len(set(known[0]))


def _known(old: Record, new: Record) -> list[str]:
    changed = decide([old], [new], TERMS)
    log = orjson.loads(GATE_FORMATS["sarif"]()(changed, accepted_run(), Look()))
    return sorted(result["partialFingerprints"][FINGERPRINT] for result in log["runs"][0]["results"])


def test_a_deviation_that_covers_no_more_is_told_at_its_line() -> None:
    """The place to mend it is the file of the deviations."""
    log = orjson.loads(rendered("sarif"))
    (found,) = [r for r in log["runs"][0]["results"] if r["ruleId"] == "gate-deviation"]
    place = found["locations"][0]["physicalLocation"]
    assert (place["artifactLocation"]["uri"], place["region"]) == ("deviations.toml", {"startLine": 18})


def test_a_decision_on_no_card_is_one_case_that_passes() -> None:
    """A file without a case would be taken for a run that did not run."""
    empty = decide([], [], Terms(SMALL, Context(AS_OF), Band.MEDIUM))
    (suite,) = JUnitXml.fromstring(GATE_FORMATS["junit"]()(empty, accepted_run(), Look()))
    assert (suite.tests, suite.failures) == (1, 0)


@pytest.mark.parametrize("name", GATE_FORMATS)
def test_no_format_repeats_a_secret(name: str) -> None:
    """The secrets of both states are in none of them."""
    assert SECRET.encode() not in rendered(name)


@pytest.mark.parametrize("name", [name for name in GATE_FORMATS if name != "json"])
def test_what_was_expected_is_not_told_like_what_came_after(name: str) -> None:
    """An arrow means before and after; a finding says in words what is there and what should be."""
    text = b" ".join(rendered(name, 120).split())
    assert b"/services/telnet/enabled is true, expected false" in text
    assert "true → false".encode() not in text.replace("Wi-Fi: Enabled: true → false".encode(), b"")


@pytest.mark.parametrize("name", GATE_FORMATS)
def test_every_format_marks_what_is_accepted(name: str) -> None:
    """Who answers for it and until when."""
    text = " ".join(rendered(name).decode().split())
    assert "S. Kaur" in text
    assert "2026-12-31" in text


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
@pytest.mark.parametrize("name", GATE_FORMATS)
def test_hostile_text_neither_acts_nor_breaks_a_format(name: str, payload: str) -> None:
    """Records full of markup, links, controls and marks of direction, on either side."""
    first, second = hostile_card(payload), hostile_card("text")
    changed = decide([record(second)], [record(first)], Terms(SMALL, Context(AS_OF), Band.LOW, located=True))
    text = GATE_FORMATS[name]()(changed, accepted_run(), Look()).decode()
    assert not {letter for letter in text if not letter.isprintable()} - {"\n"}
    if name in ("json", "sarif"):
        json.loads(text)
    if name in ("html", "markdown", "junit"):
        text = re.sub("`[^`]*`", "", text) if name == "markdown" else text  # in code nothing acts
        assert "<script" not in text
        assert "<img" not in text


def test_a_comment_is_never_too_long_to_post() -> None:
    """Many changed cards: the text stays within its limit and says what it leaves out."""
    olds = [good_card(f"card-{number}") for number in range(400)]
    news = [edited(card, lambda each: each["services"]["telnet"].update(enabled=True)) for card in olds]
    many = decide(map(record, olds), map(record, news), Terms(SMALL, Context(AS_OF), Band.MEDIUM))
    text = GATE_FORMATS["markdown"]()(many, accepted_run(), Look()).decode()
    assert len(text.encode()) <= _LONGEST + 500
    assert "changed cards more; the format json has them all." in text


def test_a_reason_is_told_once() -> None:
    """In Markdown in the table, or with its card where the table has no room; never in both."""
    few = rendered("markdown").decode()
    assert "**Holds**" not in few
    assert "Why it is held stands in the table above." in few
    olds = [good_card(f"card-{number:02d}") for number in range(40)]
    news = [edited(card, lambda each: each["services"]["telnet"].update(enabled=True)) for card in olds]
    many = decide(map(record, olds), map(record, news), Terms(SMALL, Context(AS_OF), Band.MEDIUM))
    text = GATE_FORMATS["markdown"]()(many, accepted_run(), Look()).decode()
    assert text.count("Telnet is enabled: ") == 40


def test_a_suite_says_once_which_settings_changed() -> None:
    """In the first case that fails, not in each."""
    suites = rendered("junit").decode().split("<testsuite ")[1:]
    told = [suite.count("Settings changed:") for suite in suites]
    assert max(told) == 1
    assert all(suite.count("<failure") > 1 for suite, times in zip(suites, told, strict=True) if times)
