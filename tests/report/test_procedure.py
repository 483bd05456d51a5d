"""A procedure in its formats: exact files, hostile records, and what every page carries."""

import json
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from functools import cache, partial
from io import BytesIO
from typing import BinaryIO, Final

import orjson
import pytest

from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.procedure.course import courses
from auditor.procedure.plan import Asked, plan_card
from auditor.procedure.window import Timing, share_out
from auditor.record.reading import read_record
from auditor.report.caution import CAUTIONS
from auditor.report.html.running_head import css_text
from auditor.report.layout import width_of
from auditor.report.procedure_csv import write_csv
from auditor.report.procedure_html import write_html
from auditor.report.procedure_json import write_json
from auditor.report.procedure_markdown import write_markdown
from auditor.report.procedure_table import write_table
from auditor.report.visit_sheet import Made, Sheet, sheet_of
from auditor.report.writer import Look
from tests.procedure.sample import compliant
from tests.report.hostile import PAYLOADS, hostile_card
from tests.report.sample import golden
from tests.rules.matrix import program

WRITERS: Final[Mapping[str, Callable[[Sheet, BinaryIO], None]]] = {
    "procedure-80.txt": partial(write_table, look=Look(80)),
    "procedure-120.txt": partial(write_table, look=Look(120)),
    "procedure.html": write_html,
    "procedure.md": write_markdown,
    "procedure.csv": write_csv,
    "procedure.json": write_json,
}
MOMENT: Final = datetime(2026, 11, 25, 12, tzinfo=UTC)
CHANGES: Final = {
    "services/telnet": {"enabled": True},
    "network/allowed_sources": {"any": True},
    "shutdown/automatic_restart": False,
    "tls/versions": ["tls_1_0", "tls_1_2"],
    "access_policy/session_timeout_s": 0,
}


@cache
def sheet(card: bytes) -> Sheet:
    """Return the procedure of a card, as every format shows it."""
    rules = program({})
    context = Context(MOMENT, well_known_words(), in_work_tree=False)
    plan = plan_card(read_record(card, "card.json"), rules, context, Asked("192.0.2.9"))
    shared = share_out([plan], Timing(), None)
    return sheet_of(courses([plan], shared), shared, rules, Made(MOMENT, Timing(), None))


def written(form: str, card: bytes) -> str:
    """Return the text of a format."""
    stream = BytesIO()
    WRITERS[form](sheet(card), stream)
    return stream.getvalue().decode()


@pytest.mark.parametrize("form", WRITERS)
def test_a_format_is_exactly_its_golden_file(form: str) -> None:
    """GOLDEN_RENEW=1 renews; the difference is read like code."""
    card = compliant(CHANGES).text.reveal()
    text = written(form, card).encode()
    assert text == golden(form, text)


@pytest.mark.parametrize("payload", PAYLOADS)
@pytest.mark.parametrize("form", WRITERS)
def test_a_hostile_record_can_neither_act_nor_hide(form: str, payload: str) -> None:
    """Markup stays text, controls are shown, and the JSON can be read."""
    text = written(form, orjson.dumps(hostile_card(payload)))
    assert "<script" not in text.lower().replace("&lt;script", "")
    assert not {"\x07", "\u202e", "\u200b"} & set(text)
    if form == "procedure.json":
        assert json.loads(text)["schema"] == "witnessmark/procedure-1"


@pytest.mark.parametrize("width", [40, 60, 80, 120, 200])
@pytest.mark.parametrize("card", ["usual", *PAYLOADS])
def test_no_line_of_the_table_is_wider_than_there_are_columns(card: str, width: int) -> None:
    """Narrower terminals count as 60 columns, wider ones as 120; names are cut or broken."""
    given = compliant(CHANGES).text.reveal() if card == "usual" else orjson.dumps(hostile_card(card))
    stream = BytesIO()
    write_table(sheet(given), stream, Look(width))
    assert max(width_of(line) for line in stream.getvalue().decode().splitlines()) <= min(max(width, 60), 120)


def test_the_table_says_of_every_step_what_it_mends_and_when_to_restart() -> None:
    """In the order in which they are done, with the cautions before the first."""
    card = compliant(CHANGES).text.reveal()
    text = " ".join(written("procedure-80.txt", card).split())
    (visit,) = sheet(card).visits
    blocks = visit.parts[0].blocks
    places = [text.index(f" {step.number} ") for block in blocks for step in block.steps]
    assert places == sorted(places)
    assert all(mended.rule in text for block in blocks for step in block.steps for mended in step.mends)
    assert text.count(" restart Restart the card once, now") == visit.restarts == 1
    assert 0 < text.index(CAUTIONS[0]) < places[0]


def test_a_name_in_the_margin_of_a_page_can_not_end_its_string() -> None:
    """Quotes, braces and backslashes are escapes of CSS."""
    assert css_text('a"; } body { display: none') == '"a\\22 ; \\7d  body \\7b  display: none"'


def test_every_page_carries_card_date_rulesets_and_number() -> None:
    """In the margins, so that a loose sheet is still known."""
    text = written("procedure.html", compliant(CHANGES).text.reveal())
    for said in ("Procedure: north-a-ups-01", "2026-11-25", "baseline 2026.11", "counter(pages)"):
        assert said in text
