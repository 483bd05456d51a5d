"""Drift in every format: exact, of its schema, inert, without a secret."""

import re
from functools import cache
from importlib.resources import files
from typing import Any

import jsonschema
import orjson
import pytest
from junitparser import Failure, JUnitXml
from referencing import Registry, Resource

from auditor.change.drift import CardDrift, drift_of
from auditor.change.mark import make_mark, read_mark
from auditor.errors import Fault
from auditor.report.drift_formats import DRIFT_FORMATS
from auditor.report.drift_view import Drift
from auditor.report.writer import Look
from auditor.scoring.deviation import DeviationSet
from tests.change.states import SMALL, edited, record, terms
from tests.change.test_gate import covering
from tests.change.test_mark import CONTEXT, KEY
from tests.report.hostile import PAYLOADS, hostile_card
from tests.report.sample import (
    SECRET,
    bare_card,
    golden,
    good_card,
    make_run,
    poor_card,
    without_style,
    worst_card,
)
from tests.report.test_sarif import PUBLISHED

Card = dict[str, Any]


def one(
    approved: Card | None, present: Card, key: bytes | None = KEY, by: str = "N. Adeyemi",
    by_whom: DeviationSet | None = None,
) -> CardDrift:  # fmt: skip
    """Mark a card, if it was approved, and compare what is there now."""
    mark = None
    if approved is not None:
        text = make_mark(record(approved), by, CONTEXT, SMALL, key)
        mark = read_mark(text, f"marks/{approved['card']['id']}.json", KEY)
    return drift_of(record(present), mark, terms(deviations=by_whom), KEY)


@cache
def drift() -> Drift:
    """Return one card of each standing."""

    def change(card: Card) -> None:
        card["services"]["telnet"]["enabled"] = True
        card["accounts"][0]["password"] = {"clear": "m0use-w4rren-"}
        card["card"]["name"] = "UPS B"
        card.pop("log")

    cards = (
        one(bare_card(), bare_card()),
        one(good_card(), edited(good_card(), change)),
        one(None, poor_card()),
        one(worst_card(), worst_card(), None),
        one(
            good_card("north-ups-05"),
            edited(good_card("north-ups-05"), lambda c: c["card"].update(location="R 2")),
        ),
    )
    return Drift(cards, ("gone-1", "gone-2"))


def rendered(name: str, width: int = 80) -> bytes:
    """Return the drift in a format."""
    return DRIFT_FORMATS[name]()(drift(), make_run(), Look(width))


@pytest.mark.parametrize(
    ("file", "name", "width"),
    [
        ("drift-80.txt", "table", 80),
        ("drift-120.txt", "table", 120),
        ("drift.md", "markdown", 80),
        ("drift.html", "html", 80),
        ("drift.json", "json", 80),
        ("drift.sarif", "sarif", 80),
        ("drift.xml", "junit", 80),
    ],
)
def test_the_drift_is_exactly_the_golden_one(file: str, name: str, width: int) -> None:
    """Every word of the small drift is held."""
    text = without_style(rendered(name, width))
    assert text == golden(file, text)


def _schema(name: str) -> dict[str, Any]:
    found: dict[str, Any] = orjson.loads(files("auditor.report").joinpath(name).read_bytes())
    return found


def test_the_document_holds_to_its_schema() -> None:
    """Parts of other documents by their schemas."""
    shared = Registry().with_resources(
        (schema["$id"], Resource.from_contents(schema))
        for schema in map(_schema, ("result-1.schema.json", "gate-1.schema.json"))
    )
    own = _schema("drift-1.schema.json")
    jsonschema.Draft202012Validator.check_schema(own)
    validator = jsonschema.Draft202012Validator(own, registry=shared)
    document = orjson.loads(rendered("json"))
    assert [f"{error.json_path}: {error.message}" for error in validator.iter_errors(document)] == []
    assert [card["standing"] for card in document["cards"]] == [
        "as-marked",
        "matters",
        "no-mark",
        "mark-not-whole",
        "moved",
    ]


def test_the_log_validates_and_points_at_what_moved() -> None:
    """Source: JSON Schema of SARIF 2.1.0 (OASIS), where a copy lies beside the repository."""
    log = orjson.loads(rendered("sarif"))
    if PUBLISHED.exists():
        validator = jsonschema.Draft4Validator(orjson.loads(PUBLISHED.read_bytes()))
        assert [f"{error.json_path}: {error.message}" for error in validator.iter_errors(log)] == []
    (run,) = log["runs"]
    assert {result["ruleId"] for result in run["results"]} == {
        "drift-matters",
        "drift-moved",
        "drift-no-mark",
        "drift-mark-not-whole",
    }
    (telnet,) = (each for each in run["results"] if "Telnet" in each["message"]["text"])
    compared = drift().cards[1].record
    assert compared is not None
    text = compared.text.reveal().decode()
    place = telnet["locations"][0]["physicalLocation"]["region"]
    assert text[place["startColumn"] - 1 : place["endColumn"] - 1] == "true"


@pytest.mark.parametrize("name", DRIFT_FORMATS)
def test_every_format_marks_what_somebody_answers_for(name: str) -> None:
    """It drifted all the same: nobody marked it so."""
    after = edited(good_card(), lambda card: card["services"]["telnet"].update(enabled=True))
    found = Drift((one(good_card(), after, by_whom=covering(owner="S. Kaur")),), ())
    assert found.is_weighty
    text = " ".join(DRIFT_FORMATS[name]()(found, make_run(), Look(120)).decode().split())
    assert "telnet-enabled" in text
    assert "S. Kaur" in text
    assert "2026-12-31" in text


@pytest.mark.parametrize("name", DRIFT_FORMATS)
def test_what_can_not_be_used_is_told_and_is_not_steady(name: str) -> None:
    """In every format: what was not compared may have moved."""
    faults = (Fault("a b.json", "/card/id", 4, 9, "expected text", "Write an id."),)
    found = Drift((one(bare_card(), bare_card()),), (), (faults,))
    text = " ".join(DRIFT_FORMATS[name]()(found, make_run(), Look(120)).decode().split())
    assert "steady" not in text.lower()
    assert "expected text" in text
    assert ("a%20b.json" if name == "sarif" else "a b.json") in text


def test_a_case_fails_where_a_card_asks_for_somebody() -> None:
    """As marked, and moved without another outcome, are passes."""
    (suite,) = JUnitXml.fromstring(rendered("junit"))
    failed = {case.name for case in suite if any(isinstance(result, Failure) for result in case.result)}
    assert failed == {"north-ups-01", "north-ups-02", "south-pdu-01"}
    assert suite.tests == 5


@pytest.mark.parametrize("name", DRIFT_FORMATS)
def test_no_format_repeats_a_secret(name: str) -> None:
    """Neither the one that was approved nor the one there is now."""
    assert SECRET.encode() not in rendered(name)
    assert b"m0use" not in rendered(name)


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
@pytest.mark.parametrize("name", DRIFT_FORMATS)
def test_hostile_text_neither_acts_nor_breaks_a_format(name: str, payload: str) -> None:
    """In records and in the name of who marked them."""
    found = Drift((one(hostile_card("text"), hostile_card(payload), by=payload[:255]),), (payload,))
    text = DRIFT_FORMATS[name]()(found, make_run(), Look()).decode()
    assert not {letter for letter in text if not letter.isprintable()} - {"\n"}
    if name in ("json", "sarif"):
        orjson.loads(text)
    if name in ("markdown", "junit"):
        text = re.sub("`[^`]*`", "", text) if name == "markdown" else text  # in code nothing acts
        assert "<script" not in text
        assert "<img" not in text
