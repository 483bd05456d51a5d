"""The report as Markdown: the verdict first, tables that hold, and records that can't act."""

import re
from html.parser import HTMLParser
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.report.caution import CAUTIONS
from auditor.report.markdown import make_markdown
from auditor.report.markdown_text import code, prose, table
from auditor.report.plain import plain
from auditor.scoring.xccdf import Model
from tests.report.hostile import PAYLOADS, assess_hostile
from tests.report.sample import (
    SECRET,
    assess_cards,
    bare_card,
    estate,
    golden,
    good_card,
    make_run,
    reach_card,
    render,
    render_estate,
)

OURS = {
    "h1", "h2", "h3", "p", "strong", "table", "thead", "tbody", "tr", "th", "td", "ul", "li", "code", "br",
    "details", "summary",
}  # fmt: skip


class _Elements(HTMLParser):
    """Notes the elements, their attributes and the text of an HTML page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.attributes: set[str] = set()
        self.text = ""
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.names.add(tag)
        self.attributes.update(name for name, _ in attrs)

    def handle_data(self, data: str) -> None:
        self.text += data


def _rendered(text: str) -> _Elements:
    """Return what a renderer from outside the project (markdown-it-py) makes of a report."""
    markdown_it = pytest.importorskip("markdown_it", reason="needs markdown-it-py as a reference renderer")
    return _Elements(markdown_it.MarkdownIt("commonmark").enable(["table", "strikethrough"]).render(text))


def _cells(line: str) -> int:
    """Count cells as GitHub Flavored Markdown does: a bar ends a cell unless a backslash stands before it."""
    return len(re.findall(r"(?<!\\)\|", line)) - 1


def test_the_report_is_exactly_the_golden_one() -> None:
    """Every number and word of the small estate's report is held."""
    text = render_estate(make_markdown)
    assert text == golden("report.md", text)


def test_the_verdict_comes_first() -> None:
    """After the title the first thing to read is the verdict."""
    lines = render_estate(make_markdown).decode().splitlines()
    assert lines[0] == "# Audit of the management cards of Example Power"
    assert lines[2].startswith("**Held: 3 findings at high or above, on 2 of 4 cards.")


def test_the_cautions_stand_before_what_to_mend() -> None:
    """Whoever acts on the report meets every caution before the first mend."""
    text = render_estate(make_markdown).decode()
    assert all(text.index(caution) < text.index("## Why it matters") for caution in CAUTIONS)


def test_a_card_without_findings_needs_no_cautions() -> None:
    """Where nothing is to be changed nobody is warned of changing it."""
    run = make_run("")
    text = render(make_markdown, run, assess_cards(run, [good_card()]), faults=()).decode()
    assert "Before you change anything" not in text
    assert "**Released: no finding at high or above on the card.**" in text


def test_another_model_has_its_column() -> None:
    """The score by the model that was asked for stands beside the flat one."""
    run = make_run(model=Model.ABSOLUTE)
    text = render(make_markdown, run, estate(run)).decode()
    assert "| score | absolute | coverage % |" in text


def test_a_large_estate_says_where_the_rest_is() -> None:
    """100 cards are listed and 50 told in full; the report says how many more there are."""
    run = make_run()
    text = render(
        make_markdown, run, assess_cards(run, [good_card(f"card-{n}") for n in range(130)])
    ).decode()
    assert "… and 30 cards more, none worse; the formats json and ndjson hold every card." in text


def test_every_row_of_a_table_has_its_cells() -> None:
    """Rows of one table have as many cells as its head."""
    _assert_tables_hold(render_estate(make_markdown).decode())


def _assert_tables_hold(text: str) -> None:
    for block in re.split(r"\n\n+", text):
        rows = [line for line in block.splitlines() if line.startswith("|")]
        assert len({_cells(line) for line in rows}) <= 1, block


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_a_hostile_record_is_inert(payload: str) -> None:
    """Tables hold; a reference renderer finds no element, link or attribute that is not ours."""
    run = make_run()
    text = render(make_markdown, run, assess_hostile(run, payload), faults=()).decode()
    _assert_tables_hold(text)
    found = _rendered(text)
    assert found.names <= OURS
    assert found.attributes <= {"style"}  # the renderer's own, for columns of numbers
    assert all(letter.isprintable() or letter in "\n\u200c\u200d" for letter in text)
    assert SECRET not in text


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
def test_no_mention_or_bare_address_is_left_outside_code(payload: str) -> None:
    """A forge makes links of @names, #numbers and addresses in text, but not in code."""
    run = make_run()
    text = render(make_markdown, run, assess_hostile(run, payload), faults=()).decode()
    outside = re.sub(r"`[^`\n]*`|<code>.*?</code>", "", text)
    assert not re.search(r"@\w|#\d|www\.|https?:|evil", outside.replace("&#", ""))


@given(st.text(min_size=1))
def test_code_shows_any_text_as_it_is(text: str) -> None:
    """In a cell of a table, a reference renderer shows the text itself and makes one cell of it."""
    shown = code(text)
    page = _rendered("\n".join(table(("a", "b"), [(shown, "end")])))
    assert page.names <= {"table", "thead", "tbody", "tr", "th", "td", "code"}
    assert "".join(page.text.split()) == "".join(f"a b {plain(text)} end".split())


@given(st.text(alphabet="&<>|\\`*_[]~a b"))
def test_prose_has_no_structure_of_its_own(text: str) -> None:
    """Signs of Markdown in the text of a rule are shown as signs."""
    page = _rendered(f"- {prose(text)}.")
    assert page.names <= {"ul", "li"}
    assert "".join(page.text.split()) == "".join(f"{text}.".split())


@pytest.mark.parametrize(
    ("name", "cards"),
    [("reach.md", [reach_card()]), ("reach-estate.md", [reach_card(), good_card(), bare_card()])],
)
def test_who_can_switch_looks_exactly_like_the_golden_one(name: str, cards: list[dict[str, Any]]) -> None:
    """A card shows its ways, an estate its cards by easiest way, right after the figures."""
    run = make_run()
    text = render(make_markdown, run, assess_cards(run, cards), faults=())
    assert text == golden(name, text)
    _assert_tables_hold(text.decode())
