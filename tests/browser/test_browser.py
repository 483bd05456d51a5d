"""The HTML report in a real browser: filters, silence, accessibility, paper.

The browser is Debian's Chromium; the accessibility engine is axe-core, whose rules are those of
WCAG 2.2 levels A and AA and of its own best practices.
"""

import itertools
import json
import re
import shutil
import subprocess
from collections import Counter
from pathlib import Path
from typing import Any

import pytest

from auditor.report.html.page import make_html
from tests.browser.sheets import HERE, sheets_of, squeezed, why_not
from tests.report.sample import (
    assess_cards,
    bare_card,
    good_card,
    make_run,
    poor_card,
    reach_card,
    render,
    worst_card,
)

CHROMIUM = shutil.which("chromium") or ""
NODE = shutil.which("node") or ""
_CARDS = 24

pytestmark = pytest.mark.skipif(bool(why_not()), reason=why_not() or "everything is here")
reads_paper = pytest.mark.skipif(
    bool(why_not(paper=True)), reason=why_not(paper=True) or "everything is here"
)


def _cards() -> list[dict[str, Any]]:
    cards = [good_card(), poor_card(), worst_card(), bare_card(), reach_card()]
    for number in range(_CARDS - len(cards)):
        card = (poor_card, worst_card, bare_card)[number % 3]()
        card["card"].update(id=f"unit-{number:02d}.power.example.org", site=f"Site {number % 5}")
        cards.append(card)
    return cards


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a report of two dozen cards, drive the browser over it, and return the folder."""
    place = tmp_path_factory.mktemp("browser")
    run = make_run()
    (place / "report.html").write_bytes(render(make_html, run, assess_cards(run, _cards())))
    command = [NODE, str(HERE / "drive.mjs"), CHROMIUM, str(place / "report.html"), str(place)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=900, check=False)  # noqa: S603 - our own script
    assert done.returncode == 0, done.stderr
    return place


@pytest.fixture(scope="module")
def seen(folder: Path) -> dict[str, Any]:
    """Return what the browser saw."""
    found: dict[str, Any] = json.loads((folder / "seen.json").read_text("utf-8"))
    return found


def test_nothing_is_fetched_but_the_file(seen: dict[str, Any], folder: Path) -> None:
    """Every request of every page view is for the report itself."""
    assert set(seen["requests"]) == {(folder / "report.html").as_uri()}


def test_nothing_is_logged_to_the_console(seen: dict[str, Any]) -> None:
    """No message, no fault of the script, no breach of the content security policy."""
    assert seen["console"] == []


def test_every_link_leads_somewhere(seen: dict[str, Any]) -> None:
    """Links point into the page only, and each target exists."""
    assert seen["deadLinks"] == []


def test_headings_skip_no_level(seen: dict[str, Any]) -> None:
    """Each heading is at most one level below the one before it; the first is the only h1."""
    levels = seen["headings"]
    assert levels[0] == 1
    assert levels.count(1) == 1
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


def test_all_findings_show_at_first(seen: dict[str, Any]) -> None:
    """Before any filter, every finding is there, and the page says how many."""
    whole = seen["whole"]
    assert whole["findings"] > _CARDS
    assert whole["says"] == f"All {whole['findings']} findings"


def test_severity_filters_by_mouse(seen: dict[str, Any]) -> None:
    """Clicking the other severities away leaves one; clearing brings all back."""
    assert seen["mouse"]["highOnly"]["bands"] == ["high"]
    assert seen["mouse"]["cleared"] == seen["whole"]


def test_family_site_and_card_filter_by_mouse(seen: dict[str, Any]) -> None:
    """Each choice narrows the findings to what was chosen."""
    mouse = seen["mouse"]
    assert mouse["family"]["families"] == ["services"]
    assert mouse["site"]["cards"] == ["south-pdu-01"]
    assert mouse["card"]["cards"] == ["north-ups-02"]
    assert 0 < mouse["card"]["findings"] < seen["whole"]["findings"]


def test_words_filter_and_open_what_they_find(seen: dict[str, Any]) -> None:
    """Every word must be in the finding, its card, its site or its rule; few finds are opened."""
    mouse = seen["mouse"]
    assert mouse["text"]["cards"] == ["north-ups-02"]
    assert mouse["text"]["findings"] == 1
    assert mouse["textOpens"] is True
    assert mouse["nothing"]["findings"] == 0
    assert mouse["nothing"]["says"].startswith("0 of ")


def test_the_count_is_announced(seen: dict[str, Any]) -> None:
    """The live region says how many findings are left, of how many, on how many cards."""
    card = seen["mouse"]["card"]
    assert card["says"] == f"{card['findings']} of {seen['whole']['findings']} findings, on 1 card"


def test_a_cell_of_the_picture_filters(seen: dict[str, Any]) -> None:
    """A click on a cell shows the findings of that card in that family."""
    cell = seen["mouse"]["cell"]
    assert cell["families"] == ["services"]
    assert len(cell["cards"]) == 1


def test_every_card_shows_its_ways_and_the_estate_shows_them_first(seen: dict[str, Any]) -> None:
    """Who can switch comes right after the verdict; each card has its picture, and the table beside it."""
    ways = seen["ways"]
    assert ways["after"] == "reach"
    assert ways["cards"] == ways["pictures"] == ways["tables"] == _CARDS


def test_the_keyboard_reaches_all_of_a_picture_and_its_table(seen: dict[str, Any]) -> None:
    """On a narrow screen the picture scrolls by arrow keys within itself; Enter opens the table."""
    ways = seen["ways"]
    assert ways["reachedPicture"]
    assert ways["scrolled"] > 0
    assert ways["reachedTable"]
    assert ways["opens"] is True


@reads_paper
def test_paper_cuts_no_picture_of_ways(seen: dict[str, Any], folder: Path) -> None:
    """With everything printed, all words of each picture stand on one page."""
    pages = sheets_of(folder / "everything.pdf")
    pictures = seen["pictures"][2]
    assert len(pictures) == _CARDS
    cut = [texts for texts in pictures if not any(all(squeezed(t) in p for t in texts) for p in pages)]
    assert cut == []


def test_filters_work_by_keyboard(seen: dict[str, Any]) -> None:
    """Tab reaches every control, Space and arrows use them, Enter clears."""
    keyboard = seen["keyboard"]
    assert keyboard["reachedBox"]
    assert "critical" not in keyboard["noCritical"]["bands"]
    assert keyboard["reachedFamily"]
    assert len(keyboard["firstFamily"]["families"]) == 1
    assert keyboard["reachedClear"]
    assert keyboard["cleared"] == seen["whole"]


def test_the_keyboard_finds_its_way(seen: dict[str, Any]) -> None:
    """The skip link comes first and leads to the report; entries open with Enter; focus is seen."""
    keyboard = seen["keyboard"]
    assert (keyboard["first"], keyboard["afterSkip"]) == ("skip", "main")
    assert keyboard["reachedRule"]
    assert keyboard["ruleToggles"]
    assert keyboard["focusShows"] == "solid"


def test_a_link_opens_what_it_leads_to(seen: dict[str, Any]) -> None:
    """A link from a card to a rule opens the rule and brings it into view."""
    assert seen["revealed"] == {"open": True, "inView": True}


@pytest.mark.parametrize("look", ["light", "dark", "narrow", "narrowDark"])
def test_the_accessibility_engine_finds_nothing_serious(seen: dict[str, Any], look: str) -> None:
    """No violation of serious or critical impact, with everything opened."""
    assert [found for found in seen["axe"][look] if found["impact"] in ("serious", "critical")] == []


def test_a_phone_needs_no_sideways_scrolling(seen: dict[str, Any]) -> None:
    """At 400 pixels the page is no wider than the screen; wide tables scroll within themselves."""
    assert seen["narrowWidth"] == 400


def test_without_its_script_the_report_is_whole(seen: dict[str, Any]) -> None:
    """Every finding is in the page itself; only the filters need the script, and hide without it."""
    assert seen["withoutScript"]["findings"] == seen["whole"]["findings"]
    assert seen["withoutScript"]["formShown"] is False


def test_a_link_carries_the_filter(seen: dict[str, Any]) -> None:
    """The filter stands in the address by names; whoever opens the link, or follows it, sees the same."""
    shared = seen["shared"]
    assert "site=South" in shared["fragment"]
    assert "outcome=fail" in shared["fragment"]
    assert 0 < shared["sent"]["findings"] < seen["whole"]["findings"]
    assert {**shared["sent"], "fragment": shared["fragment"]} == shared["received"]
    assert shared["followed"] == shared["sent"]
    assert shared["afterClear"] == "#findings"


def test_a_link_that_asks_for_what_is_not_there_says_so(seen: dict[str, Any]) -> None:
    """An unknown card is named, not silently ignored; a broken address shows everything or nothing."""
    shared = seen["shared"]
    assert shared["unknownCard"]["findings"] == seen["whole"]["findings"]
    assert shared["unknownCard"]["says"].endswith("findings (not in this report: <b>nobody</b>)")
    assert shared["broken"]["findings"] == 0
    assert shared["noFragment"]["findings"] == seen["whole"]["findings"]


def test_unknown_findings_are_told_apart(seen: dict[str, Any]) -> None:
    """Fails and unknowns can be chosen apart, and together they are all findings."""
    fails, unknowns = seen["mouse"]["fails"]["findings"], seen["mouse"]["unknowns"]["findings"]
    assert min(fails, unknowns) > 0
    assert fails + unknowns == seen["whole"]["findings"]


@reads_paper
@pytest.mark.parametrize(
    ("rows", "pdf"),
    [("rows", "report.pdf"), ("filteredRows", "filtered.pdf"), ("everyRow", "everything.pdf")],
)
def test_paper_cuts_no_row(seen: dict[str, Any], folder: Path, rows: str, pdf: str) -> None:
    """The text of each row stands whole on one page of the PDF, as often as the row is there."""
    pages = sheets_of(folder / pdf)
    wanted = Counter(squeezed(row["text"]) for row in seen[rows])
    short = [row for row, times in wanted.items() if sum(page.count(row) for page in pages) < times]
    assert len(pages) > 2
    assert len(wanted) > _CARDS
    assert short == []


def test_nothing_on_paper_is_too_wide(seen: dict[str, Any]) -> None:
    """What is wider than the paper would make the browser print all of it smaller."""
    assert seen["paperWidths"] == [703, 703, 703]


def test_paper_has_a_row_for_every_finding(seen: dict[str, Any]) -> None:
    """In brief print no finding is lost; with a filter, those are printed that it shows."""
    printed = {name: sum(row["isFinding"] for row in seen[name]) for name in ("rows", "filteredRows")}
    assert printed["rows"] == seen["whole"]["findings"]
    assert printed["filteredRows"] == seen["mouse"]["family"]["findings"]


@reads_paper
def test_brief_paper_explains_and_leaves_workings_to_the_file(folder: Path) -> None:
    """Each rule's reasons and mend are printed, workings are not, and the page says where they are."""
    pages = sheets_of(folder / "report.pdf")
    text = "".join(pages)
    for words in (
        "Telnet carries the password in clear",
        "Switch telnet off and use SSH",
        "Print everything",
    ):
        assert squeezed(words) in text
    assert "Beforerounding" not in text
    assert len(pages) < len(sheets_of(folder / "everything.pdf")) / 2


@reads_paper
def test_filtered_paper_says_that_it_is(folder: Path) -> None:
    """Paper from a filtered page says how many findings it lists, of how many."""
    assert re.search(r"Filtered:\d+of\d+findings", "".join(sheets_of(folder / "filtered.pdf")))
    assert "Filtered:" not in "".join(sheets_of(folder / "report.pdf"))


@reads_paper
def test_paper_with_everything_shows_what_the_screen_folds(folder: Path) -> None:
    """Where "Print everything" is chosen, evidence, reasons and workings are on paper."""
    text = "".join(sheets_of(folder / "everything.pdf"))
    for words in ("Why it matters", "Telnet carries the password in clear", "Before rounding", "To capture:"):
        assert squeezed(words) in text
