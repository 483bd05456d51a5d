"""The report for a terminal: verdict, worst, rest; never wider than the terminal, never acting on it."""

import io
import re
from dataclasses import replace
from unicodedata import combining, east_asian_width

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.report.caution import CAUTIONS
from auditor.report.ink import PALETTE, Ink
from auditor.report.layout import Cell, Column, Fit, cut, grid, width_of, wrap
from auditor.report.markdown import make_markdown
from auditor.report.table import make_table
from auditor.report.writer import Look
from auditor.rules.evidence import Evidence
from auditor.rules.result import Outcome
from auditor.scoring.band import Band
from auditor.scoring.xccdf import Model
from tests.report.hostile import PAYLOADS, assess_hostile, hostile_card
from tests.report.sample import (
    FAULTS,
    SECRET,
    assess_cards,
    bare_card,
    golden,
    good_card,
    make_run,
    poor_card,
    reach_card,
    render,
    render_estate,
    sum_up,
)

SGR = re.compile(r"\x1b\[[0-9;]*m")


def _most_columns(line: str) -> int:
    """Count columns as Unicode Standard Annex 11 does; marks stand above or below a letter."""
    return sum((2 if east_asian_width(each) in "WF" else 1) for each in line if not combining(each))


def _table(*cards: dict[str, object], look: Look | None = None, model: Model = Model.FLAT) -> str:
    run = make_run(model=model)
    return render(make_table, run, assess_cards(run, cards), faults=(), look=look).decode()


@pytest.mark.parametrize("width", [80, 120])
def test_the_estate_looks_exactly_like_the_golden_one(width: int) -> None:
    """Every line of the small estate's report is held, at both widths."""
    text = render_estate(make_table, Look(width))
    assert text == golden(f"estate-{width}.txt", text)


@pytest.mark.parametrize("width", [80, 120])
def test_a_card_looks_exactly_like_the_golden_one(width: int) -> None:
    """Every line of the report on one poor card is held, at both widths."""
    text = _table(poor_card(), look=Look(width)).encode()
    assert text == golden(f"card-{width}.txt", text)


def test_the_order_is_verdict_worst_rest() -> None:
    """The verdict is the first line; the worst findings come before cards, groups and notes."""
    text = render_estate(make_table).decode()
    assert text.startswith("HELD: 3 findings at high or above, on 2 of 4 cards.")
    order = [
        "Worst findings",
        "Worst cards",
        "By site",
        "Not audited",
        "Tailored",
        "Before you change",
        "Read on",
    ]
    assert [text.index(part) for part in order] == sorted(text.index(part) for part in order)


def test_the_worst_findings_of_an_estate_are_said_in_sentences() -> None:
    """The title says what is wrong, whole; the name of its rule stands beside it where there is room."""
    narrow, wide = (render_estate(make_table, Look(width)).decode() for width in (80, 120))
    assert "Telnet is enabled" in narrow.split("Worst findings")[1].split("Worst cards")[0]
    assert "telnet-enabled" not in narrow.split("Worst findings")[1].split("Worst cards")[0]
    assert re.search(r"Telnet is enabled +1 +south-pdu-01 +telnet-enabled", wide)


def test_what_is_wrapped_in_a_grid_goes_on_below_itself() -> None:
    """Other cells of the row are blank there; no word is lost."""
    columns = [Column("a"), Column("b", fit=Fit.WRAP), Column("n", number=True)]
    rows = [[Cell("one"), Cell("words that go on and on"), Cell("7")], [Cell("two"), Cell("few"), Cell("8")]]
    assert grid(columns, rows, 20, Ink(colour=False))[2:] == [
        "one  words that    7",
        "     go on and on",
        "two  few           8",
    ]


def test_a_good_card_is_released_without_cautions() -> None:
    """Where nothing is to be mended the report is short."""
    text = _table(good_card())
    assert text.startswith("RELEASED: no finding at high or above on the card.")
    assert "Before you change anything" not in text


def test_a_card_with_findings_has_every_caution() -> None:
    """Nobody learns how to mend something without being told of the load behind it."""
    text = " ".join(_table(poor_card()).split())
    assert all(caution in text for caution in CAUTIONS)


def test_a_released_card_of_which_little_is_known_says_so() -> None:
    """Released is no praise where hardly anything was captured."""
    text = _table(bare_card())
    assert "RELEASED: no finding at high or above on the card, but 7 results could not be\ndecided." in text
    assert "Capture /snmp/communities, /accounts, " in text


def test_all_findings_of_one_card_are_shown_with_evidence_and_mend() -> None:
    """Rule, place, what was observed and expected, and what to do stand together."""
    text = _table(poor_card())
    assert "control: /snmp/communities/1/access: write → one of none, read" in text
    assert "Mend: Set the access of the community to read." in text
    assert "ZeroDivisionError in a fact of rule clock-polls-never" in text


def test_an_unknown_finding_is_told_from_a_fail() -> None:
    """Nothing is to be mended yet: the title says so, and capturing stands in place of the mend."""
    text = _table(bare_card())
    assert "not known: Sessions stay open too long" in text
    assert "Capture /access_policy/session_timeout_s.\n" in text
    assert "Mend: Set the session timeout" not in text


def test_a_rule_that_fails_here_and_is_unknown_there_is_shown_as_both() -> None:
    """Each has its own title and its own work to do."""
    run = make_run()
    card = good_card()
    card["accounts"] = [
        {"name": "one", "enabled": True, "is_shared": True},
        {"name": "two", "enabled": True},
    ]
    (assessment,) = assess_cards(run, [card])
    (shared,) = assessment.findings
    unknown = replace(
        shared,
        outcome=Outcome.UNKNOWN,
        evidence=(Evidence("/accounts/1/is_shared", "not captured", "false"),),
        label="two",
    )
    text = render(make_table, run, [replace(assessment, findings=(unknown, shared))], faults=()).decode()
    mend, capture = text.index("Mend: Give each person"), text.index("Capture /accounts/1/is_shared.")
    assert (
        text.index(" An account is shared") < mend < text.index("not known: An account is shared") < capture
    )


def test_an_estate_tells_unknown_findings_from_fails() -> None:
    """The same rule at the same severity is two kinds where one card fails and another is not known."""
    failing = good_card("card-1")
    failing["access_policy"]["session_timeout_s"] = 86400
    unknown = good_card("card-2")
    del unknown["access_policy"]
    text = _table(failing, unknown)
    assert re.search(r"  Sessions stay open too long +1  card-1", text)
    assert re.search(r"  not known: Sessions stay open too long +1  card-2", text)


def test_a_list_with_many_defects_is_cut_with_a_count() -> None:
    """A rule that fails for 40 accounts shows ten, and says how many more there are."""
    card = good_card()
    card["accounts"] = [{"name": f"user{n}", "enabled": True, "is_shared": True} for n in range(40)]
    text = _table(card)
    assert text.count("/is_shared: true → false") == 10
    assert "… and 30 places more" in text


def test_findings_of_one_kind_are_counted_once_for_all_cards() -> None:
    """The same rule at the same severity on three cards is one line with a 3."""
    cards = [good_card(f"card-{n}") for n in range(3)]
    for card in cards:
        card["services"]["telnet"]["enabled"] = True
    found = re.search(r"critical 10\.0  Telnet is enabled +3  card-0", _table(*cards))
    assert found


def test_a_large_estate_shows_the_worst_and_says_of_how_many() -> None:
    """Of 30 cards with findings 20 are shown; one without findings is counted."""
    cards = [poor_card() for _ in range(30)]
    for number, card in enumerate(cards):
        card["card"]["id"] = f"card-{number:02d}"
    text = _table(*cards, good_card())
    assert "20 of 30; 1 without findings" in text
    assert text.count("\ncard-") == 20


def test_another_model_stands_beside_the_flat_score() -> None:
    """The model that was asked for has its own column, or its own figure."""
    assert re.search(
        r"worst +score  absolute  coverage", _table(good_card("a"), poor_card(), model=Model.ABSOLUTE)
    )
    assert "absolute 0.0 of 100" in _table(poor_card(), model=Model.ABSOLUTE)


def test_nothing_audited_is_said_first() -> None:
    """Where no record could be used the verdict says so, and the faults follow."""
    text = render(make_table, make_run(), []).decode()
    assert text.startswith("NOTHING AUDITED: 1 record could not be used, and was not audited.")
    assert "south/broken.json:4:11: /card/id: expected text; found a number" in text


def test_many_faults_are_cut_with_a_count() -> None:
    """Ten faults are shown, the rest are counted."""
    text = render(make_table, make_run(), [], faults=FAULTS * 8).decode()
    assert "… and 6 faults more" in text


@pytest.mark.parametrize("payload", PAYLOADS.values(), ids=PAYLOADS)
@pytest.mark.parametrize("width", [80, 120])
def test_hostile_records_keep_the_width_and_do_nothing(payload: str, width: int) -> None:
    """One card and an estate of hostile text: no line too wide, no control, no secret."""
    run = make_run()
    both = assess_hostile(run, payload)
    for assessments in (both, both[:1]):
        text = render(make_table, run, assessments, look=Look(width)).decode()
        assert max(_most_columns(line) for line in text.split("\n")) <= width
        assert all(letter.isprintable() or letter in "\n\u200c\u200d" for letter in text)
        assert SECRET not in text


@settings(max_examples=50, deadline=None)
@given(st.text(min_size=1, max_size=64), st.integers(60, 200))
def test_no_text_makes_a_line_too_wide(text: str, width: int) -> None:
    """Whatever the names in a record, no line is wider than the terminal, nor than 120 columns."""
    if any(0xD800 <= ord(letter) <= 0xDFFF for letter in text):
        return
    shown = _table(hostile_card(text), good_card(), look=Look(width))
    assert all(width_of(line) <= min(width, 120) for line in shown.split("\n"))


def test_colour_changes_nothing_but_colour() -> None:
    """Without its colours the report is the one without colour: no meaning is in colour alone."""
    coloured = render_estate(make_table, Look(80, colour=True)).decode()
    assert SGR.sub("", coloured) == render_estate(make_table, Look(80)).decode()
    assert "\x1b[1;38;5;16;48;5;166mcritical 10.0\x1b[0m" in coloured


@pytest.mark.parametrize("name", PALETTE)
def test_terminal_colours_are_the_nearest_to_the_palette(name: str) -> None:
    """Each number is the nearest of the colour cube of terminals (levels 0, 95, 135, 175, 215, 255)."""
    hexadecimal, number = PALETTE[name]
    levels = (0, 95, 135, 175, 215, 255)
    wanted = [int(hexadecimal[at : at + 2], 16) for at in (0, 2, 4)]
    nearest = [min((abs(level - part), step) for step, level in enumerate(levels))[1] for part in wanted]
    assert number == 16 + 36 * nearest[0] + 6 * nearest[1] + nearest[2]


@given(st.text(), st.integers(2, 40))
def test_a_cut_text_fits_and_says_that_it_was_cut(text: str, width: int) -> None:
    """What fits is left alone; what does not ends, or begins, with an ellipsis."""
    for fit, place in ((Fit.CUT_END, -1), (Fit.CUT_START, 0)):
        shown = cut(text, width, fit)
        assert width_of(shown) <= width
        assert shown == text or shown[place] == "…"


@given(st.text(), st.integers(10, 60))
def test_wrapping_keeps_every_letter(text: str, width: int) -> None:
    """Lines fit, and together they hold the text: nothing is lost but blanks."""
    lines = wrap(text, width, first="> ", later="  ")
    assert all(width_of(line) <= width for line in lines)
    assert "".join("".join(line[2:].split()) for line in lines) == "".join(text.split())


def test_wide_characters_are_aligned() -> None:
    """A column of two-column characters pushes the next column no further than one of letters."""
    rows = [(Cell("電源"), Cell("a")), (Cell("abcd"), Cell("b"))]
    lines = grid([Column("name"), Column("x")], rows, 20, Ink(colour=False))
    assert lines[2:] == ["電源  a", "abcd  b"]


def test_counts_by_band_add_up_to_the_findings() -> None:
    """Findings at severity 0.0 have no band, and are counted all the same, as in Markdown."""
    run = make_run()
    counts = {Band.CRITICAL: 1, Band.HIGH: 0, Band.MEDIUM: 2, Band.LOW: 3, Band.NONE: 9}
    summary = sum_up(run, assess_cards(run, [poor_card(), good_card()]))
    summary = replace(summary, whole=replace(summary.whole, findings_by_band=counts))
    for make in (make_table, make_markdown):
        stream = io.BytesIO()
        make(run, stream, Look()).finish(summary)
        assert "1 critical, 0 high, 2 medium, 3 low, 9 at 0.0" in stream.getvalue().decode()


def test_a_kind_of_finding_is_explained() -> None:
    """The heading says what its numbers count."""
    assert "kinds: one rule at one severity" in render_estate(make_table).decode()


def test_faults_that_are_told_elsewhere_are_counted_by_file() -> None:
    """Where standard error tells the faults, the table names each file once."""
    text = render_estate(make_table, Look(tells_faults=False)).decode()
    assert "south/broken.json: 2 faults, told on standard error" in text
    assert FAULTS[0].problem not in text


def test_nothing_is_advised_where_nothing_was_audited() -> None:
    """A page of nothing helps nobody."""
    text = render(make_table, make_run(), []).decode()
    assert "Read on" not in text


@pytest.mark.parametrize("width", [80, 120])
def test_the_ways_of_a_card_look_exactly_like_the_golden_ones(width: int) -> None:
    """A card with ways of every kind: the table fits, and its notes say what the signs mean."""
    text = _table(reach_card(), look=Look(width)).encode()
    assert text == golden(f"reach-{width}.txt", text)
    assert max(map(_most_columns, text.decode().splitlines())) <= width


@pytest.mark.parametrize("width", [80, 120])
def test_who_can_switch_over_an_estate_looks_exactly_like_the_golden_one(width: int) -> None:
    """Cards by easiest way, the easiest cards, what closes the most: right after the sums."""
    text = _table(reach_card(), good_card(), bare_card(), look=Look(width)).encode()
    assert text == golden(f"reach-estate-{width}.txt", text)
    assert max(map(_most_columns, text.decode().splitlines())) <= width
