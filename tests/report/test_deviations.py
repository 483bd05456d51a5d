"""Findings under a deviation in every format: still there, marked, and both scores beside each other."""

import csv
import io
import re
from dataclasses import replace
from importlib.resources import files
from typing import Any

import orjson
import pytest

from auditor.report.controls_csv import make_controls_csv
from auditor.report.deviation_view import fault_text
from auditor.report.findings_csv import make_csv
from auditor.report.formats import FORMATS
from auditor.report.html.page import make_html
from auditor.report.markdown import make_markdown
from auditor.report.result_json import make_json
from auditor.report.result_ndjson import make_ndjson
from auditor.report.table import make_table
from auditor.report.writer import Look
from auditor.scoring.deviation import DeviationSet
from auditor.scoring.deviation_finding import DEVIATION_FAULTS, DeviationFinding, least_severity
from tests.report.sample import (
    DEVIATIONS,
    assess_cards,
    golden,
    make_run,
    render,
    render_accepted,
    worst_card,
)
from tests.report.test_result_json import faults_of


def _document() -> dict[str, Any]:
    document: dict[str, Any] = orjson.loads(render_accepted(make_json))
    return document


def _rows(text: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.decode(), newline="")))


@pytest.mark.parametrize(
    ("name", "make", "width"),
    [
        ("deviations-80.txt", make_table, 80),
        ("deviations-120.txt", make_table, 120),
        ("deviations.md", make_markdown, 80),
        ("deviations.csv", make_csv, 80),
    ],
)
def test_the_report_is_exactly_the_golden_one(name: str, make: Any, width: int) -> None:
    """Every word of the small estate under deviations is held."""
    text = render_accepted(make, Look(width))
    assert text == golden(name, text)


def test_the_document_holds_to_its_schema() -> None:
    """With every kind of fault of a deviation, and with deviations in force."""
    assert faults_of(_document()) == []
    lines = render_accepted(make_ndjson).splitlines()
    assert [faults_of(orjson.loads(line), "line") for line in lines] == [[]] * len(lines)


def test_every_fault_that_there_is_stands_in_the_schema() -> None:
    """By its id, and no other."""
    text = files("auditor.report").joinpath("result-1.schema.json").read_text("utf-8")
    (listed,) = re.findall(r'"enum": (\["deviation-[^]]*\])', text)
    assert set(orjson.loads(listed)) == set(DEVIATION_FAULTS)


def test_a_deviation_beyond_the_limit_says_how_long_it_may_last() -> None:
    """Both numbers of days, and what it leaves open."""
    longer = replace(DEVIATIONS.deviations[0], days_too_many=31)
    said = fault_text(DeviationFinding("deviation-too-long", longer, least_severity(), 1, 1, "south-pdu-01"))
    assert "lasts 211 days from its approval, at most 180 are allowed; leaves open 1 finding" in said


def test_a_finding_in_the_document_is_marked() -> None:
    """Owner, expiry, ticket, reason and the line of the deviation stand with the finding."""
    marked = [f for card in _document()["cards"] for f in card["findings"] if "deviation" in f]
    assert [f["rule"] for f in marked] == ["community-can-write", "telnet-enabled"]
    assert marked[1]["deviation"] == {
        "owner": "N. Adeyemi, power",
        "expires": "2027-03-31",
        "ticket": "CHG-2207",
        "reason": "The old logger | speaks nothing else.",
        "line": 1,
    }


def test_both_scores_stand_in_the_document() -> None:
    """For the estate and for each card, also where nothing is accepted."""
    document = _document()
    assert all("accepted_score" in card for card in document["cards"])
    plain, aside = document["summary"]["estate"]["score"], document["summary"]["estate"]["accepted_score"]
    assert aside["percent"] > plain["percent"]
    without = orjson.loads(render(make_json, make_run(), assess_cards(make_run(), [worst_card()])))
    assert without["summary"]["estate"]["score"] == without["cards"][0]["score"]
    assert "accepted_score" not in without["cards"][0]


def test_faults_of_deviations_stand_in_the_document_worst_first() -> None:
    """One of each: no owner, expired, left over; the working of their severities is there."""
    found = _document()["summary"]["deviations"]["findings"]
    assert [each["id"] for each in found] == [
        "deviation-without-owner",
        "deviation-expired",
        "deviation-unused",
    ]
    assert all(each["vector"] in _document()["summary"]["severities"] for each in found)


def test_rows_of_findings_name_who_answers() -> None:
    """A row a finding under a deviation, with owner, expiry and ticket; a row a fault of a deviation."""
    rows = _rows(render_accepted(make_csv))
    accepted = [(r["rule"], r["deviation_owner"], r["deviation_expires"]) for r in rows if r["card"]]
    assert ("telnet-enabled", "N. Adeyemi, power", "2027-03-31") in accepted
    assert [r["rule"] for r in rows if not r["card"]] == [
        "deviation-without-owner",
        "deviation-expired",
        "deviation-unused",
    ]


def test_controls_count_what_is_accepted() -> None:
    """A control that fails under a deviation says so."""
    rows = {r["control"]: r for r in _rows(render_accepted(make_controls_csv))}
    assert (rows["CM-1"]["cards_failing"], rows["CM-1"]["accepted"]) == ("1", "1")
    assert rows["AC-1"]["accepted"] == "2"
    assert rows["AU-1"]["accepted"] == "0"


def test_the_page_marks_accepted_findings() -> None:
    """The chip, who answers for it, the section of deviations and the filter are there."""
    text = render_accepted(make_html).decode()
    assert text.count('<span class="chip accepted">accepted</span>') == 4  # on screen and on paper
    assert "accepted until 2027-03-31, N. Adeyemi, power answers for it, ticket CHG-2207" in text
    assert '<section id="deviations"' in text
    assert '<option value="accepted">' in text
    assert "with accepted deviations set aside" in text


@pytest.mark.parametrize("name", [name for name in FORMATS if name not in ("reuse-csv", "ways-csv")])
def test_every_format_tells_owner_and_expiry_or_counts(name: str) -> None:
    """No format hides that a finding is accepted, nor who answers for it; sums by control count it.

    What cards share is no finding of a card, and no deviation covers it.
    """
    text = render_accepted(FORMATS[name]()).decode()
    wanted = ["accepted"] if name == "controls-csv" else ["N. Adeyemi", "2027-03-31", "CHG-2207"]
    assert [word for word in wanted if word not in text] == []


def test_a_run_released_by_deviations_says_so() -> None:
    """Nothing holds any more; the verdict names how many findings would."""
    run = make_run()
    cards = assess_cards(run, [worst_card()])
    rules = {finding.rule.id for finding in cards[0].findings}
    covering = tuple(replace(DEVIATIONS.deviations[0], rule=rule, cards=("*",)) for rule in sorted(rules))
    accepted = replace(run, deviations=DeviationSet("deviations.toml", "ab" * 32, covering))
    summary = orjson.loads(render(make_json, accepted, cards, faults=()))["summary"]
    assert (summary["verdict"], summary["held"]) == ("Released", False)
    assert summary["reason"] == (
        "no finding without a deviation at high or above on the card. "
        "1 finding at high or above under a deviation."
    )
