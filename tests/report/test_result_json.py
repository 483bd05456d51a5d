"""The result document: whole, of its schema, inert, and written card by card."""

import io
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from functools import cache
from importlib.resources import files
from typing import Any

import jsonschema
import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.report.result_card import json_text
from auditor.report.result_json import make_json
from auditor.report.writer import Look
from auditor.rules.result import Outcome
from auditor.scoring.assessment import score_of
from auditor.scoring.ccss import explain
from auditor.scoring.xccdf import Model
from tests.report.hostile import PAYLOADS, assess_hostile
from tests.report.sample import (
    SECRET,
    assess_cards,
    estate,
    golden,
    good_card,
    make_run,
    poor_card,
    render,
    render_estate,
)


@cache
def result_schema() -> dict[str, Any]:
    """Read the schema of result documents."""
    schema: dict[str, Any] = orjson.loads(
        files("auditor.report").joinpath("result-1.schema.json").read_bytes()
    )
    return schema


def faults_of(document: object, definition: str = "") -> list[str]:
    """Return what the schema, or one of its definitions, finds wrong with a document."""
    schema = {**result_schema(), "$ref": f"#/$defs/{definition}"} if definition else result_schema()
    if definition:
        for word in ("type", "additionalProperties", "required", "properties"):
            del schema[word]
    validator = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())
    return [f"{error.json_path}: {error.message}" for error in validator.iter_errors(document)]


def _document(text: bytes) -> dict[str, Any]:
    document: dict[str, Any] = orjson.loads(text)
    return document


def test_the_document_is_exactly_the_golden_one() -> None:
    """Every number and word of the small estate's result is held."""
    text = render_estate(make_json)
    assert text == golden("result.json", text)


def test_the_schema_is_a_schema() -> None:
    """The schema itself holds to JSON Schema 2020-12."""
    jsonschema.Draft202012Validator.check_schema(result_schema())


def _described(node: object, path: str) -> list[str]:
    if not isinstance(node, dict):
        return []
    found = [path] if "$ref" not in node and not {"title", "description"} <= node.keys() else []
    for name, member in {**node.get("properties", {}), **node.get("$defs", {})}.items():
        found += _described(member, f"{path}/{name}")
    for word in ("items", "additionalProperties"):
        found += _described(node.get(word), f"{path}/{word}")
    return found


def test_every_member_of_the_schema_is_described() -> None:
    """A reader of the schema learns what every member is."""
    assert _described(result_schema(), "") == []


def test_the_document_validates_against_its_schema() -> None:
    """The small estate holds every outcome, an error, a group without a name, and faults."""
    assert faults_of(_document(render_estate(make_json))) == []


@pytest.mark.parametrize("model", Model)
def test_a_scoring_model_on_request_stands_beside_the_flat_one(model: Model) -> None:
    """Every card has the score by the model of the run; the flat one is there once."""
    run = make_run(model=model)
    document = _document(render(make_json, run, estate(run)))
    assert faults_of(document) == []
    expected = [score_of(assessment.results, model).points for assessment in estate(run)]
    found = [card.get("model_score", card["score"])["points"] for card in document["cards"]]
    assert found == pytest.approx(expected)
    assert ("model_score" in document["cards"][0]) is (model is not Model.FLAT)


def test_the_sums_say_whose_events_can_be_put_in_order() -> None:
    """Site by site: how far apart, the loosest clocks, those without a bound; no second is told too few."""
    run = make_run()
    cards = [_clocked("card-0", "North", 1.2345678), _clocked("card-1", "North", 2.0)]
    cards += [_clocked("card-2", "North"), _clocked("card-9", "Lone", 1.0)]
    document = _document(render(make_json, run, assess_cards(run, cards)))
    assert faults_of(document) == []
    assert document["summary"]["event_order"] == [
        {
            "site": "North",
            "cards": 3,
            "apart_s": 3.253,
            "loosest": [
                {"card": "card-1", "uncertainty_s": 2.009},
                {"card": "card-0", "uncertainty_s": 1.244},
            ],
            "unbounded": 1,
            "unbounded_cards": ["card-2"],
        }
    ]


def _clocked(name: str, site: str, offset: float | None = None) -> dict[str, Any]:
    """Return a card whose clock was off by so many seconds; without them, nothing bounds it."""
    card = good_card()
    card["card"].update(id=name, site=site)
    reference = datetime(2026, 11, 25, 12, tzinfo=UTC)
    read = reference + timedelta(seconds=offset or 0)
    clocks = {"reference_clock": reference, "card_clock": read}
    card["capture"] = {name: clock.isoformat("T", "microseconds") for name, clock in clocks.items()}
    card["time"] = {"source": "ntp", "poll_interval_s": 600} if offset is not None else {"source": "manual"}
    return card


def test_an_estate_without_cards_is_a_document_too() -> None:
    """Where no record could be used, the document says so and still validates."""
    document = _document(render(make_json, make_run(), []))
    assert faults_of(document) == []
    assert (document["cards"], document["summary"]["verdict"]) == ([], "Nothing audited")


def test_every_card_has_a_result_for_every_rule() -> None:
    """The fast way to the results gives what the assessment holds, rule by rule."""
    run = make_run()
    assessments = estate(run)
    for card, assessment in zip(
        _document(render(make_json, run, assessments))["cards"], assessments, strict=True
    ):
        expected = {
            r.rule.id: {"outcome": r.outcome.value, "passed": r.passed, "counted": r.counted}
            for r in assessment.results
        }
        assert card["results"] == expected


def test_single_results_add_up_to_the_outcomes_of_a_card() -> None:
    """What passed in the results is what the outcomes count as passed."""
    for card in _document(render_estate(make_json))["cards"]:
        assert sum(result["passed"] for result in card["results"].values()) == card["outcomes"]["pass"]
        left_out = [result["outcome"] for result in card["results"].values() if not result["counted"]]
        assert left_out.count("notapplicable") == card["outcomes"]["notapplicable"]


def test_weights_and_results_give_the_score() -> None:
    """A reader can follow a score back: weights of rules, shares that passed, their sum.

    Source: NIST IR 7275r4 section 7.3.2.2 (flat model).
    """
    document = _document(render_estate(make_json))
    weights = {name: rule["weight"] for name, rule in document["rules"].items()}
    for card in document["cards"]:
        counted = {name: result for name, result in card["results"].items() if result["counted"]}
        points = sum(weights[name] * result["passed"] / result["counted"] for name, result in counted.items())
        maximum = sum(weights[name] for name in counted)
        assert card["score"]["points"] == pytest.approx(points, abs=1e-6)
        assert card["score"]["maximum"] == pytest.approx(maximum, abs=1e-6)
        assert card["score"]["percent"] == pytest.approx(100 * points / maximum, abs=1e-6)


def test_every_severity_has_its_working() -> None:
    """The vectors of rules and findings lead to the sums, and the last sum is the severity."""
    document = _document(render_estate(make_json))
    severities = document["summary"]["severities"]
    findings = [finding for card in document["cards"] for finding in card["findings"]]
    for finding in findings:
        assert severities[finding["vector"]]["steps"][-1]["value"] == finding["severity"]
        assert severities[finding["vector"]]["band"] == finding["band"]
    for rule in document["rules"].values():
        assert severities[rule["vector"]]["score"] == rule["weight"]
        assert [step["formula"] for step in severities[rule["vector"]]["steps"]] == [
            step.formula for step in explain(rule["vector"])
        ]


def test_cards_are_written_as_they_come() -> None:
    """A card is in the stream before the next one is added: memory does not grow with the cards."""
    run = make_run()
    stream = io.BytesIO()
    writer = make_json(run, stream, Look())
    for assessment in estate(run):
        before = stream.tell()
        writer.add(assessment)
        assert assessment.card.id.encode() in stream.getvalue()[before:]


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_a_hostile_record_is_told_truly_and_does_nothing(payload: str) -> None:
    """No character of the document acts on a terminal, yet a reader gets the text back as it was."""
    run = make_run()
    text = render(make_json, run, assess_hostile(run, payload), faults=())
    document = _document(text)
    assert faults_of(document) == []
    assert document["cards"][0]["card"]["site"] == payload[:128]
    assert document["cards"][0]["card"]["name"] == payload[:128]
    assert text.count(b"\n") == len(text.splitlines())
    assert all(letter.isprintable() or letter in "\n\u200c\u200d" for letter in text.decode())
    assert SECRET.encode() not in text


@given(st.text())
def test_any_text_comes_back_from_the_json_as_it_was(text: str) -> None:
    """Escapes for what acts unseen, beyond the basic plane too, are those of JSON (RFC 8259 section 7)."""
    if not any(0xD800 <= ord(letter) <= 0xDFFF for letter in text):
        written = json_text({"text": text})
        assert orjson.loads(written) == {"text": text}
        assert not {letter for letter in written.decode() if letter in "\x7f\x9b\u202e\u2066\u200f\ufeff"}


def test_a_file_name_that_is_no_text_is_shown_as_far_as_it_is() -> None:
    """A name with bytes that are not UTF-8 can't stop the report."""
    run = make_run()
    odd = [replace(assessment, file="bad\udcff.json") for assessment in assess_cards(run, [good_card()])]
    assert _document(render(make_json, run, odd))["cards"][0]["file"] == "bad[U+DCFF].json"


def test_an_error_is_a_finding_with_its_message() -> None:
    """A fact that failed is told as such, with no evidence."""
    run = make_run()
    card = _document(render(make_json, run, assess_cards(run, [poor_card()])))["cards"][0]
    found = [finding for finding in card["findings"] if finding["outcome"] == Outcome.ERROR.value]
    assert [(each["rule"], each["evidence"]) for each in found] == [("clock-polls-never", [])]
    assert "ZeroDivisionError" in found[0]["message"]


def test_what_was_tailored_is_told() -> None:
    """Parameters changed, rules set aside and environments are in the run, beside what is usual."""
    told = _document(render_estate(make_json))["run"]
    assert told["parameters"]["session_timeout_maximum_s"] == {
        "value": 600,
        "unit": "s",
        "meaning": "Longest time that a session without activity stays open.",
        "source": "common practice, no source",
        "changed": True,
        "usual": 900,
    }
    assert told["deselected"] == {"usb-open": "The racks are locked; the key book is with the guard."}
    assert told["environments"]["lab"] == {
        "metrics": {"CDP": "L", "AR": "L"}, "because": "Set by the site.", "changed": True,
    }  # fmt: skip
    assert told["site"]["operator"] == "Example Power"


def test_without_a_site_file_no_site_is_told() -> None:
    """Absent is absent: there is no empty site."""
    run = make_run("")
    document = _document(render(make_json, run, estate(run)))
    assert "site" not in document["run"]
    assert faults_of(document) == []
