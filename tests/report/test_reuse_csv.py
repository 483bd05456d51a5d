"""What cards share as CSV: one row a group, worst first."""

import csv
import io
from dataclasses import replace
from typing import Any

import orjson

from auditor.fleet.reuse import Reuse
from auditor.record.reading import read_record
from auditor.report.reuse_csv import COLUMNS, make_reuse_csv
from auditor.report.writer import Look
from tests.report.sample import estate, golden, make_run, sum_up

MARKER = "quoll-marker-81"


def card(card_id: str, feeds: str, password: str, community: str) -> dict[str, Any]:
    """Return a card with one password and one community."""
    return {
        "schema": "witnessmark/card-1",
        "card": {"id": card_id},
        "equipment": {"feeds": feeds} if feeds else {},
        "accounts": [{"name": "a", "password": {"clear": password}}],
        "snmp": {"communities": [{"name": "r", "community": {"clear": community}}]},
    }


CARDS = (
    card("a-1", "lab", MARKER, "one"),
    card("a-2", "critical", MARKER, "two"),
    card("a-3", "life_safety", MARKER, "three"),
    card("b-1", "lab", "x1", MARKER),
    card("b-2", "", "x2", MARKER),
    *(card(f"c-{number:02}", "office", "rest", "rest") for number in range(22)),
)


def written(cards: tuple[dict[str, Any], ...]) -> bytes:
    """Return the table of what some cards share."""
    run, stream, reuse = make_run(), io.BytesIO(), Reuse()
    assessments = estate(run)
    for each in cards:
        reuse.add(read_record(orjson.dumps(each), "card.json"))
    writer = make_reuse_csv(run, stream, Look())
    for assessment in assessments:
        writer.add(assessment)
    writer.finish(replace(sum_up(run, assessments), shared=reuse.shared()))
    return stream.getvalue()


def rows(text: bytes) -> list[dict[str, str]]:
    """Return the rows by their columns."""
    return list(csv.DictReader(io.StringIO(text.decode(), newline=""), strict=True))


def test_the_rows_are_exactly_the_golden_ones() -> None:
    """Every cell of four groups is held; no cell holds the secret."""
    text = written(CARDS)
    assert text == golden("reuse.csv", text)
    assert MARKER.encode() not in text


def test_each_group_counts_its_cards_by_load() -> None:
    """The worst group comes first; its loads add up, and its gravest cards are named first."""
    found = rows(written(CARDS))
    assert [row["kind"] for row in found] == ["password", "password", "community", "community"]
    first = found[0]
    counts = [first[name] for name in ("cards", "life_safety_cards", "critical_cards", "other_cards")]
    assert counts == ["3", "1", "1", "1"]
    assert first["card_ids"] == "a-2 a-3 a-1"
    assert [float(row["severity"]) for row in found] == sorted(
        (float(r["severity"]) for r in found), reverse=True
    )


def test_a_large_group_says_how_many_cards_are_not_named() -> None:
    """Twenty are named, the rest is counted."""
    large = next(row for row in rows(written(CARDS)) if row["cards"] == "22")
    assert (len(large["card_ids"].split()), large["more_cards"]) == (20, "2")


def test_where_nothing_is_shared_only_the_columns_stand() -> None:
    """The table is there, and empty."""
    assert next(csv.reader([written(CARDS[:1]).decode().strip()])) == list(COLUMNS)
