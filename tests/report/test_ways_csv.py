"""The ways in as CSV and in result documents: one row a way, nothing lost, nothing that acts."""

import csv
import io
from dataclasses import replace
from typing import Any

import orjson
import pytest

from auditor.report.result_json import make_json
from auditor.report.result_ndjson import make_ndjson
from auditor.report.ways_csv import COLUMNS, make_ways_csv
from auditor.report.writer import Run
from tests.report.hostile import PAYLOADS, assess_hostile
from tests.report.sample import (
    SECRET,
    assess_cards,
    golden,
    good_card,
    make_run,
    reach_card,
    reach_in,
    render,
    sum_up,
)
from tests.report.test_result_json import faults_of


def _run() -> Run:
    return replace(make_run(), ways=True)


def _rows(text: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text.decode(), newline=""), strict=True))


def _document(run: Run, cards: list[dict[str, Any]]) -> dict[str, Any]:
    document: dict[str, Any] = orjson.loads(render(make_json, run, assess_cards(run, cards), faults=()))
    return document


def test_the_rows_are_exactly_the_golden_ones() -> None:
    """Every cell of a card with ways of every kind is held."""
    run = make_run()
    text = render(make_ways_csv, run, assess_cards(run, [reach_card()]))
    assert text == golden("ways.csv", text)


def test_rows_and_documents_tell_the_same_ways() -> None:
    """Channel, party, proof, truth by truth and the places are the same in both."""
    run = _run()
    rows = _rows(render(make_ways_csv, run, assess_cards(run, [reach_card()])))
    (card,) = _document(run, [reach_card()])["cards"]
    truths = {True: "yes", False: "no", None: "unknown"}
    for row, way in zip(rows, card["ways"], strict=True):
        assert {name: row[name] for name in ("channel", "party", "proof", "pointer")} == {
            name: way[name] for name in ("channel", "party", "proof", "pointer")
        }
        assert [row[name] for name in ("switches", "configures", "reads")] == [
            truths[way["allows"][name]] for name in ("switches", "configures", "reads")
        ]
        assert (row["open"], row["minimal"]) == (truths[way["open"]], truths[way["minimal"]])
        assert row["prefixes"].split() == (way["origin"]["prefixes"] or [])
    assert list(rows[0]) == list(COLUMNS)


def test_a_document_with_ways_validates_and_its_lines_hold_the_same() -> None:
    """Every way of every card is of the schema; null stands for what is not known."""
    run = _run()
    cards = assess_cards(run, [reach_card(), good_card()])
    document = orjson.loads(render(make_json, run, cards))
    assert faults_of(document) == []
    assert [len(card["ways"]) for card in document["cards"]] == [len(reach_in(card).ways) for card in cards]
    lines = [orjson.loads(line) for line in render(make_ndjson, run, cards).splitlines()]
    assert [line["ways"] for line in lines[1:3]] == [card["ways"] for card in document["cards"]]
    assert None in [way["allows"]["switches"] for way in document["cards"][1]["ways"]]


def test_the_sums_tell_who_can_switch_over_the_estate() -> None:
    """They validate, and hold the counts, the easiest cards and the changes of the summary."""
    run = _run()
    document = _document(run, [reach_card(), good_card()])
    reach = sum_up(run, assess_cards(run, [reach_card(), good_card()])).reach
    assert reach is not None
    told = document["summary"]["reach"]
    assert faults_of(document) == []
    assert sum(each["cards"] for each in told["cards_by_easiest"]) == reach.open == 1
    assert [each["card"] for each in told["easiest"]] == ["north-ups-03"]
    assert [each["closes"] for each in told["changes"]] == [change.closes for change in reach.changes]


def test_a_run_that_did_not_ask_lists_no_ways() -> None:
    """Ways cost more than all the rest of a line, so json and ndjson hold them only where asked."""
    document = _document(make_run(), [reach_card()])
    assert "ways" not in document["cards"][0]
    assert "reach" not in document["summary"]


def test_the_addresses_of_ipv6_are_whole_numbers() -> None:
    """All of IPv6 is 2 to the 128th addresses: more than 64 bits hold, and told exactly."""
    run = _run()
    text = render(make_json, run, assess_cards(run, [reach_card()]), faults=())
    assert str(1 << 128).encode() in text


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_a_hostile_record_is_inert(payload: str) -> None:
    """No cell acts in a spreadsheet or a terminal, no secret is told, every row has its cells."""
    run = _run()
    text = render(make_ways_csv, run, assess_hostile(run, payload), faults=())
    rows = list(csv.reader(io.StringIO(text.decode(), newline=""), strict=True))
    assert {len(row) for row in rows} == {len(COLUMNS)}
    assert not any(cell.lstrip().startswith(("=", "+", "-", "@")) for row in rows for cell in row)
    assert all(letter.isprintable() or letter in "\r\n\u200c\u200d" for letter in text.decode())
    assert SECRET.encode() not in text
    lines = render(make_ndjson, run, assess_hostile(run, payload), faults=())
    assert all(letter.isprintable() or letter in "\n\u200c\u200d" for letter in lines.decode())
    assert SECRET.encode() not in lines
