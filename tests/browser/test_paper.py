"""The papers of a visit in a real browser: what each printed sheet carries, and what no sheet may cut.

Printed by Debian's Chromium on A4 and letter; the sheets are read by poppler.
"""

import itertools
import json
import shutil
import subprocess
from pathlib import Path
from typing import Any, Final

import pytest
from typer.testing import CliRunner

from auditor.cli.main import app
from tests.browser.sheets import HERE, sheets_of, squeezed, why_not
from tests.rules.matrix import ROOT

pytestmark = pytest.mark.skipif(bool(why_not(paper=True)), reason=why_not(paper=True) or "all is here")

FERNHEAD: Final = ROOT / "fixtures/estate/fernhead-works"
CARDS: Final = ("fhw-ups-uv", "fhw-probe-lab")
SIZES: Final = {"A4": (595, 842), "Letter": (612, 792)}
"""Width and height in points. Source: ISO 216 (210 mm by 297 mm); letter is 8.5 in by 11 in."""

PAGES: Final = (
    "index", "report", "procedure", *(f"worksheet-{card}" for card in CARDS), "deviations", "marks",
)  # fmt: skip
PRINTED: Final = [(page, size) for page in PAGES for size in SIZES]


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Write a pack of two cards with marks and deviations, print it on both papers, and return where."""
    place = tmp_path_factory.mktemp("paper")
    estate = ROOT / "fixtures/estate"
    records = [str(FERNHEAD / f"{card}.json") for card in CARDS]
    site = ("--site", str(estate / "witnessmark.toml"))
    marks = str(place / "marks")
    _run("mark", records[1], "--by", "N. Adeyemi", "--to", marks, "--as-of", "2026-11-01", *site)
    given = ("--deviations", str(estate / "deviations.toml"), "--marks", marks, "--as-of", "2026-11-25")
    _run("handover", *records, *site, *given, "--output", str(place / "pack"))
    pages = [str(place / "pack" / f"{page}.html") for page in PAGES]
    node, chromium = shutil.which("node") or "", shutil.which("chromium") or ""
    command = [node, str(HERE / "paper.mjs"), chromium, str(place), *pages]
    done = subprocess.run(command, capture_output=True, text=True, timeout=500, check=False)  # noqa: S603 - our own script
    assert done.returncode == 0, done.stderr
    return place


def _run(*arguments: str) -> None:
    assert CliRunner().invoke(app, arguments).exit_code in (0, 1)


@pytest.fixture(scope="module")
def seen(folder: Path) -> dict[str, Any]:
    """Return what the browser saw of each page."""
    found: dict[str, Any] = json.loads((folder / "seen.json").read_text("utf-8"))
    return found


@pytest.mark.parametrize(("page", "size"), PRINTED)
def test_every_sheet_carries_card_date_rules_number_and_room_for_initials(
    folder: Path, page: str, size: str
) -> None:
    """Each page of the PDF, counted by poppler, says its own number and how many there are."""
    sheets = sheets_of(folder / f"{page}-{size}.pdf")
    cards = [page.removeprefix("worksheet-")] if page.startswith("worksheet-") else CARDS
    for number, sheet in enumerate(sheets, start=1):
        said = (*cards, "2026-11-25", "baseline 2026.11, readiness 2026.11", "Initials: ____")
        numbered = f"Page {number} of {len(sheets)}"
        assert [each for each in (*said, numbered) if squeezed(each) not in sheet] == [], number


@pytest.mark.parametrize(("page", "size"), PRINTED)
def test_sheets_have_the_size_of_the_paper(folder: Path, page: str, size: str) -> None:
    """No style forces another size on the printer."""
    command = [shutil.which("pdfinfo") or "", str(folder / f"{page}-{size}.pdf")]
    told = subprocess.run(command, capture_output=True, text=True, check=True).stdout  # noqa: S603 - our own file
    (line,) = (line for line in told.splitlines() if line.startswith("Page size"))
    _, _, width, _, height, *_ = line.split()
    assert (float(width), float(height)) == pytest.approx(SIZES[size], abs=1)


@pytest.mark.parametrize(("page", "size"), [each for each in PRINTED if each[0] != "report"])
def test_no_sheet_cuts_a_step_a_caution_or_a_box_to_sign(
    folder: Path, seen: dict[str, Any], page: str, size: str
) -> None:
    """All lines of each stand on one sheet, as does each row of a table. The report: ``test_browser``."""
    sheets = sheets_of(folder / f"{page}-{size}.pdf")
    blocks = [list(map(squeezed, lines)) for lines in seen[f"{page}.html"]["blocks"]]
    whole = (block for block in blocks if any(all(line in sheet for line in block) for sheet in sheets))
    assert len(list(whole)) == len(blocks) > 0


@pytest.mark.parametrize("page", PAGES)
def test_nothing_is_wider_than_the_paper(seen: dict[str, Any], page: str) -> None:
    """Else the browser would print all of it smaller."""
    assert max(seen[f"{page}.html"]["widths"].values()) <= 0


@pytest.mark.parametrize("page", PAGES)
def test_a_page_asks_for_nothing_but_itself(seen: dict[str, Any], folder: Path, page: str) -> None:
    """No request but for the file, no message, no breach of its policy; links stay in the pack."""
    told = seen[f"{page}.html"]
    assert set(told["requests"]) == {(folder / "pack" / f"{page}.html").as_uri()}
    assert told["console"] == []
    outside = [link for link in told["links"] if not link.startswith("#")]
    assert [link for link in outside if not (folder / "pack" / link).is_file()] == []


@pytest.mark.parametrize("page", PAGES)
def test_headings_skip_no_level(seen: dict[str, Any], page: str) -> None:
    """Each heading is at most one level below the one before it; the first is the only h1."""
    levels = seen[f"{page}.html"]["headings"]
    assert (levels[0], levels.count(1)) == (1, 1)
    assert all(after - before <= 1 for before, after in itertools.pairwise(levels))


@pytest.mark.parametrize("page", PAGES)
def test_the_accessibility_engine_finds_nothing_serious(seen: dict[str, Any], page: str) -> None:
    """No violation of serious or critical impact."""
    found = seen[f"{page}.html"]["axe"]
    assert [each for each in found if each["impact"] in ("serious", "critical")] == []
