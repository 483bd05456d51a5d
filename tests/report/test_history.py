"""A history in every format: whole, valid by its schema, handsome by its golden files, and harmless."""

import csv
import html
import io
import itertools
import re
from collections.abc import Callable
from dataclasses import replace
from datetime import date
from typing import Any, BinaryIO

import jsonschema
import orjson
import pytest

from auditor.history.history import History
from auditor.history.sweep import KeptDeviation, SharedGroup
from auditor.report.history_csv import write_cards, write_findings, write_sweeps
from auditor.report.history_json import write_history
from auditor.report.history_table import HistoryTable
from auditor.report.html.history_page import write_history_page
from auditor.report.html.plot import HEIGHT, findings_plot, mending_plot, score_plot
from auditor.report.writer import Look
from auditor.scoring.band import Band
from tests.history.by_hand import accepted, day, result, sweep_on, told
from tests.report.sample import golden
from tests.rules.matrix import ROOT

HOSTILE = '<script>alert(1)</script>=cmd|"\x1b[31m\u202e'


def sample() -> History:
    """Return a history with something of everything: two parts, all fates, all kinds of card."""
    deviations = (
        KeptDeviation("c", ("n-*",), "", "N. Adeyemi", "CHG-2207", date(2026, 6, 30), 1),
        KeptDeviation("d", ("*",), "m", "", "", date(2026, 2, 1), 0),
    )
    north: dict[str, Any] = {
        "part": "north",
        "deviations": deviations,
        "shared": (SharedGroup("community", Band.HIGH, 2),),
    }
    south: dict[str, Any] = {"part": "south", "every_days": None}
    undated = replace(result("s-1", "a b:x", site="South"), taken_at="", kind="pdu")
    sweeps = (
        (sweep_on(0, **north), [result("n-1", "a b c"), result("n-2", "b:x b:y d"), result("n-3")]),
        (sweep_on(10, **south), [undated]),
        (sweep_on(90, **north), [result("n-1", "b c"), result("n-2", undecided="b"), result("n-3", "a")]),
        (
            sweep_on(180, rules="abc", **north),
            [accepted(result("n-1", "a c")), result("n-2", "b:x"), result("n-4", "c")],
        ),
    )
    return told(*sweeps, as_of=day(280))


def written(write: Callable[[History, BinaryIO], None], history: History) -> bytes:
    """Return what a writer writes."""
    stream = io.BytesIO()
    write(history, stream)
    return stream.getvalue()


def table(width: int) -> Callable[[History, BinaryIO], None]:
    """Return a writer of the report for a terminal of that width."""

    def write(history: History, stream: BinaryIO) -> None:
        stream.write(HistoryTable(history, "history.db", Look(width)).text().encode())

    return write


WRITERS = {
    "history-80.txt": table(80),
    "history-120.txt": table(120),
    "history.json": write_history,
    "history.html": write_history_page,
    "history-findings.csv": write_findings,
    "history-sweeps.csv": write_sweeps,
    "history-cards.csv": write_cards,
}


@pytest.mark.parametrize("name", WRITERS)
def test_the_report_is_the_golden_one(name: str) -> None:
    """To the last byte; of the page, but for its style."""
    text = written(WRITERS[name], sample())
    text = re.sub(rb"<style>.*</style>|sha256-[^&]+", b"", text, flags=re.DOTALL)  # style has its own tests
    assert text == golden(name, text)


def test_the_document_is_valid_by_its_schema() -> None:
    """And the schema is one; it refuses a member that it does not know."""
    schema = orjson.loads((ROOT / "auditor/report/history-1.schema.json").read_bytes())
    jsonschema.Draft202012Validator.check_schema(schema)
    validator = jsonschema.Draft202012Validator(schema, format_checker=jsonschema.FormatChecker())
    document = orjson.loads(written(write_history, sample()))
    assert list(validator.iter_errors(document)) == []
    document["cards"][0]["evidence"] = "x"
    assert not validator.is_valid(document)


def test_the_document_says_what_was_worked_out_by_hand() -> None:
    """A card's fate, a finding's, and the time to mend, in the words of the schema."""
    document = orjson.loads(written(write_history, sample()))
    cards = {card["card"]: card for card in document["cards"]}
    assert cards["n-3"]["missed"] == "2026-06-30T00:00:00+00:00"
    assert (cards["n-4"]["new"], cards["s-1"]["due"], cards["s-1"]["capture_age_days"]) == (True, None, None)
    fates = {
        (one["card"], one["rule"], one["member"], one["opened"][:10]): (one["fate"], one["age_days"])
        for one in document["findings"]
    }
    assert fates["n-1", "a", "", "2026-01-01"] == ("mended", 90)
    assert fates["n-1", "a", "", "2026-06-30"] == ("open", 100)
    assert fates["n-2", "b", "y", "2026-01-01"] == ("mended", 180)
    assert fates["n-2", "d", "", "2026-01-01"] == ("mended", 90)
    assert document["time_to_mend"]["critical"] == {
        "findings": 4, "mended": 1, "not_mended": 3, "median_days": 90,
        "still_open": [{"days": 90, "share": 0.0}],
    }  # fmt: skip


@pytest.mark.parametrize("width", [60, 80, 100, 120])
def test_no_line_is_wider_than_the_terminal(width: int) -> None:
    """From 60 columns on."""
    lines = written(table(width), sample()).decode().splitlines()
    assert max(map(len, lines)) <= width


def hostile() -> History:
    """Return a history whose every text tries something."""
    bad = replace(
        result("x", "a"), card=HOSTILE, name=HOSTILE, site=HOSTILE, kind=HOSTILE, feeds=HOSTILE,
    )  # fmt: skip
    found = tuple(each._replace(label=HOSTILE, member=HOSTILE) for each in bad.findings)
    deviation = KeptDeviation(HOSTILE, (HOSTILE,), HOSTILE, HOSTILE, HOSTILE, date(2026, 1, 5), 1)
    sweep = sweep_on(
        0, part=HOSTILE, operator=HOSTILE, rules="a", rulesets=(HOSTILE,), deviations=(deviation,)
    )
    titled = replace(sweep, rules={"a": HOSTILE})
    return told((titled, [replace(bad, findings=found)]), (sweep_on(1), [result("y")]), as_of=day(200))


@pytest.mark.parametrize("name", WRITERS)
def test_hostile_text_is_made_harmless(name: str) -> None:
    """No markup, no control character, no formula, no override of direction reaches a reader."""
    text = written(WRITERS[name], hostile()).decode()
    assert "\x1b" not in text
    assert "\u202e" not in text
    if name.endswith(".html"):
        assert "<script" not in text
    if name.endswith(".csv"):
        cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
        assert not [cell for cell in cells if cell.startswith(("=", "@", "+"))]


def test_the_page_fetches_nothing_and_runs_nothing() -> None:
    """Its policy allows its own style and no script; there is no address in it."""
    page = html.unescape(written(write_history_page, sample()).decode())
    assert "default-src 'none'; style-src 'sha256-" in page
    assert "script-src 'none'" in page
    assert not re.search(r"<script|<link|<img|<iframe|https?://|style=", page)


def test_the_csv_of_findings_can_be_read_back() -> None:
    """One row a spell, numbers as numbers."""
    rows = list(csv.DictReader(io.StringIO(written(write_findings, sample()).decode())))
    assert len(rows) == len(sample().spells)
    assert {row["fate"] for row in rows} == {"open", "mended"}
    assert float(rows[0]["severity"]) == 9.3


def test_labels_of_lines_never_stand_on_each_other() -> None:
    """Nor below the axis."""
    plot = mending_plot(sample().mending)
    assert plot is not None
    places = sorted(line.label_y for line in plot.lines)
    assert all(later - earlier >= 15 for earlier, later in itertools.pairwise(places))
    assert places[-1] <= HEIGHT


def test_one_sweep_makes_a_plot_too() -> None:
    """A single point, in the middle; and no plot of mending where nothing was mended."""
    history = told((sweep_on(0), [result("x", "a b")]))
    assert len(score_plot(history.points).lines[0].dots) == 1
    assert [bar.band for bar in findings_plot(history.points).bars] == [Band.CRITICAL, Band.HIGH]
    assert mending_plot(history.mending) is None
    assert b"Time to mend" in written(write_history_page, history)


def test_the_stack_of_findings_has_the_height_of_their_number() -> None:
    """Bars stand on each other without a gap, and add up."""
    plot = findings_plot(sample().points)
    for x in {bar.x for bar in plot.bars}:
        stack = sorted((bar for bar in plot.bars if bar.x == x), key=lambda bar: bar.y)
        for upper, lower in itertools.pairwise(stack):
            assert upper.y + upper.height == pytest.approx(lower.y, abs=0.15)
