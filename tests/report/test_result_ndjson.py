"""The result as lines: the run, a line a card, the sums; nothing but what the document holds."""

from typing import Any

import orjson
import pytest

from auditor.report.result_json import make_json
from auditor.report.result_ndjson import make_ndjson
from tests.report.hostile import PAYLOADS, assess_hostile
from tests.report.sample import SECRET, golden, make_run, render, render_estate
from tests.report.test_result_json import faults_of


def _lines(text: bytes) -> list[dict[str, Any]]:
    return [orjson.loads(line) for line in text.splitlines()]


def test_the_lines_are_exactly_the_golden_ones() -> None:
    """Every number and word of the small estate's result is held."""
    text = render_estate(make_ndjson)
    assert text == golden("result.ndjson", text)


def test_every_line_says_what_it_is_and_validates() -> None:
    """The run first, then the cards, the summary last; each of the schema's lines."""
    lines = _lines(render_estate(make_ndjson))
    assert [line["line"] for line in lines] == ["run", "card", "card", "card", "card", "summary"]
    for line in lines:
        assert faults_of(line, f"{line['line']}_line") == []
        assert faults_of(line, "line") == []


def test_the_lines_hold_what_the_document_holds() -> None:
    """Put together, the lines are the document."""
    first, *cards, last = _lines(render_estate(make_ndjson))
    document = orjson.loads(render_estate(make_json))
    assert document == {
        "schema": first["schema"],
        "run": first["run"],
        "rules": first["rules"],
        "cards": [{name: value for name, value in card.items() if name != "line"} for card in cards],
        "summary": last["summary"],
    }


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_a_hostile_record_stays_on_its_line(payload: str) -> None:
    """No text of a record makes another line, and none acts on a terminal."""
    run = make_run()
    text = render(make_ndjson, run, assess_hostile(run, payload), faults=())
    assert [line["line"] for line in _lines(text)] == ["run", "card", "card", "summary"]
    assert len(text.decode().splitlines()) == 4
    assert all(letter.isprintable() or letter in "\n\u200c\u200d" for letter in text.decode())
    assert SECRET.encode() not in text
