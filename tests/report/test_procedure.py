"""A procedure in its formats: exact files, hostile records, and what every page carries."""

import json
from datetime import UTC, datetime
from functools import cache
from io import BytesIO
from typing import Final

import orjson
import pytest

from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.procedure.plan import Asked, plan_card
from auditor.procedure.window import Timing, share_out
from auditor.record.reading import read_record
from auditor.report.html.running_head import css_text
from auditor.report.procedure_csv import write_csv
from auditor.report.procedure_html import write_html
from auditor.report.procedure_json import write_json
from auditor.report.procedure_markdown import write_markdown
from auditor.report.visit_sheet import Made, Sheet, sheet_of
from tests.procedure.sample import compliant
from tests.report.hostile import PAYLOADS, hostile_card
from tests.report.sample import golden
from tests.rules.matrix import program

WRITERS: Final = {
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
    return sheet_of([plan], shared, rules, Made(MOMENT, Timing(), None))


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


def test_a_name_in_the_margin_of_a_page_can_not_end_its_string() -> None:
    """Quotes, braces and backslashes are escapes of CSS."""
    assert css_text('a"; } body { display: none') == '"a\\22 ; \\7d  body \\7b  display: none"'


def test_every_page_carries_card_date_rulesets_and_number() -> None:
    """In the margins, so that a loose sheet is still known."""
    text = written("procedure.html", compliant(CHANGES).text.reveal())
    for said in ("Procedure: north-a-ups-01", "2026-11-25", "baseline 2026.11", "counter(pages)"):
        assert said in text
