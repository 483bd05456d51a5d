"""``witnessmark handover`` at its edges: what a pack holds, that it is whole or not there, and refusals."""

import hashlib
import json
import os
import re
from collections.abc import Callable
from html import unescape
from pathlib import Path
from typing import Any

import pytest
from typer.testing import CliRunner, Result

from auditor.cli.main import app
from tests.report.hostile import PAYLOADS, hostile_card
from tests.rules.matrix import ROOT

UV = str(ROOT / "fixtures/estate/fernhead-works/fhw-ups-uv.json")
PROBE = str(ROOT / "fixtures/estate/fernhead-works/fhw-probe-lab.json")
COMPLIANT = str(ROOT / "fixtures/cards/compliant-sealed.json")
PROPOSED = str(ROOT / "fixtures/changes/proposed.json")
SITE = ("--site", str(ROOT / "fixtures/estate/witnessmark.toml"))
DEVIATIONS = ("--deviations", str(ROOT / "fixtures/estate/deviations.toml"))
AS_OF = ("--as-of", "2026-11-25")
PAGES = ["deviations.html", "index.html", "marks.html", "procedure.html", "report.html"]


@pytest.fixture(scope="module")
def two(tmp_path_factory: pytest.TempPathFactory) -> str:
    """Write a pack of two cards, with deviations, for the tests that only read it."""
    folder = str(tmp_path_factory.mktemp("two") / "pack")
    arguments = ("handover", UV, PROBE, *SITE, *DEVIATIONS, "--marks", "nowhere", "--output", folder, *AS_OF)
    assert run(*arguments).exit_code == 1
    return folder


@pytest.fixture(autouse=True)
def _somewhere_else(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Run where no marks lie, and nothing of the repository can be written over."""
    monkeypatch.chdir(tmp_path)


def run(*arguments: str) -> Result:
    """Run a command in this process."""
    return CliRunner().invoke(app, [*arguments])


def handover(*arguments: str, output: str = "pack") -> Result:
    """Write a pack."""
    return run("handover", *arguments, "--output", output, *AS_OF)


def text_of(page: str, pack: str = "pack") -> str:
    """Return the words of a page, without its style and its tags."""
    whole = Path(pack, page).read_text("utf-8")
    bare = re.sub(r"<(style|script)>.*?</\1>", "", whole, flags=re.DOTALL)
    return " ".join(unescape(re.sub(r"<[^>]*>", " ", bare)).split())


def names(pack: str = "pack") -> list[str]:
    """Return the names in a folder, hidden ones too."""
    return sorted(os.listdir(pack))  # noqa: PTH208 - names only


def test_a_pack_of_one_card_is_whole() -> None:
    """One line says so on standard error, and what the procedure comes to; one step is left out."""
    result = handover(UV, *SITE)
    assert (result.exit_code, result.stdout) == (1, "")
    assert re.fullmatch(
        r"pack: 6 pages for 1 card; begin with index\.html\. \d+ steps in 1 visit, \d+ min in all, "
        r"1 restart; 1 step left out\.\n",
        result.stderr,
    )
    assert names() == sorted([*PAGES, "worksheet-fhw-ups-uv.html"])
    assert names(".") == ["pack"]


def test_a_pack_of_several_cards_has_a_worksheet_of_each(two: str) -> None:
    """All cards stand in the index, the report, the deviations and the marks."""
    assert set(names(two)) == {*PAGES, "worksheet-fhw-ups-uv.html", "worksheet-fhw-probe-lab.html"}
    for page in PAGES:
        assert all(card in text_of(page, two) for card in ("fhw-ups-uv", "fhw-probe-lab")), page


def test_every_page_names_cards_date_and_rules_and_counts_its_sheets(two: str) -> None:
    """In the margins of paper; a worksheet names its own card alone."""
    for page in names(two):
        style = Path(two, page).read_text("utf-8").partition("</style>")[0]
        margins = style[style.rindex("@page") :]
        cards = ["fhw-ups-uv", "fhw-probe-lab"]
        if page.startswith("worksheet-"):
            cards = [page.removeprefix("worksheet-").removesuffix(".html")]
        said = ["2026-11-25", "baseline 2026.11, readiness 2026.11", "counter(pages)", "Initials", *cards]
        assert [each for each in said if each not in margins] == [], page


def test_every_page_has_room_for_signatures(two: str) -> None:
    """Besides the initials on each sheet."""
    for page in names(two):
        assert re.search(r"\(name, signature\)|Read off by|Name Signature", text_of(page, two)), page


def test_the_index_leads_to_every_page_and_holds_its_digest(two: str) -> None:
    """Who has the signed index can tell whether a page is still the one that was signed for."""
    index = Path(two, "index.html").read_text("utf-8")
    linked = re.findall(r'href="\./([^"]+)"', index)
    assert sorted([*linked, "index.html"]) == names(two)
    for page in linked:
        assert hashlib.sha256(Path(two, page).read_bytes()).hexdigest() in index


def test_pages_need_nothing_but_themselves(two: str) -> None:
    """No address leads out, and their policy lets nothing be fetched."""
    for page in names(two):
        whole = Path(two, page).read_text("utf-8")
        assert "default-src 'none'" in unescape(whole)
        assert re.findall(r"(?:src|href|action)=\"(?!#|\./)[^\"]*\"", whole) == [], page
        assert "url(" not in whole
        assert page == "report.html" or "<script" not in whole


def test_the_digest_of_a_record_with_clear_secrets_is_not_told(two: str) -> None:
    """Who knows the rest of the record could try guesses on it; that of a sealed record stands there."""
    assert "no digest is told" in text_of("index.html", two)
    assert hashlib.sha256(Path(UV).read_bytes()).hexdigest() not in text_of("index.html", two)
    handover(COMPLIANT)
    assert hashlib.sha256(Path(COMPLIANT).read_bytes()).hexdigest() in text_of("index.html")


def test_deviations_show_owner_reason_expiry_and_ticket(two: str) -> None:
    """Of the deviation that is about the card, and of no other."""
    text = text_of("deviations.html", two)
    for said in (
        "telnet-enabled", "In force.", "N. Adeyemi, power engineering", "CHG-2207", "2026-09-01",
        "2027-03-31", "126 days left", "The plant's logger speaks nothing else", "Covers: critical 9.3",
    ):  # fmt: skip
        assert said in text
    assert "CHG-1984" not in text
    assert "1 deviation on 1 card: 1 in force." in text_of("index.html", two)


def test_a_deviation_that_has_expired_leaves_its_findings_open() -> None:
    """The page says for how long, and which findings."""
    office = str(ROOT / "fixtures/estate/saddler-street/sds-ups-office.json")
    handover(office, *SITE, *DEVIATIONS)
    text = text_of("deviations.html")
    assert "Expired." in text
    assert "ended 25 days ago" in text
    assert re.search(r"Leaves open: \S+: \w+ \d+\.\d", text)


def test_without_deviations_the_page_says_so(two: str) -> None:
    """Plainly, whether there is no file or none of its deviations is about a card."""
    assert "None is about this card: every finding on it is open." in text_of("deviations.html", two)
    handover(COMPLIANT)
    assert "No file of deviations was given: nothing is accepted" in text_of("deviations.html")


def test_without_marks_the_page_says_so(two: str) -> None:
    """A folder that is not there is no fault."""
    text = text_of("marks.html", two)
    assert "No mark: nobody has approved the settings of this card." in text
    assert "0 of 2 cards moved" in text


def _marked(record: str, *key: str) -> None:
    arguments = ("mark", record, "--by", "N. Adeyemi", *key, "--as-of", "2026-11-01")
    assert run(*arguments).exit_code == 0


def test_a_card_as_marked_says_by_whom_and_when() -> None:
    """The marks lie in ``marks`` where nothing else is said."""
    _marked(COMPLIANT)
    handover(COMPLIANT)
    text = text_of("marks.html")
    for said in ("as marked", "N. Adeyemi", "2026-11-01T00:00:00+00:00", "Nothing moved since."):
        assert said in text


def test_a_card_that_moved_says_what_and_which_rules_mind() -> None:
    """The same moves as those of ``witnessmark drift``."""
    _marked(COMPLIANT)
    handover(PROPOSED, "--marks", "marks")
    drift = json.loads(run("drift", PROPOSED, *AS_OF, "--format", "json").stdout)["cards"][0]
    text = text_of("marks.html")
    assert drift["moves"]
    for move in drift["moves"]:
        assert move["title"] in text
        assert all(rule in text for rule in move.get("matters", ()))
    assert "moved, matters" in text


def test_a_mark_that_was_altered_is_told() -> None:
    """Nobody reads it as approved."""
    _marked(COMPLIANT)
    mark = next(Path("marks").iterdir())
    mark.write_text(mark.read_text("utf-8").replace("N. Adeyemi", "A. Nother"), "utf-8")
    handover(COMPLIANT)
    assert "mark not whole" in text_of("marks.html")
    assert "it was altered" in text_of("marks.html")


def test_the_index_counts_what_the_worksheet_asks(two: str) -> None:
    """As many boxes as settings; those of a list that stand apart are boxes too."""
    asked = dict(re.findall(r"Worksheet of (\S+) \S+ (\d+) settings? to read", text_of("index.html", two)))
    for card, number in asked.items():
        boxes = Path(two, f"worksheet-{card}.html").read_text("utf-8").count('class="box"')
        assert boxes == int(number) > 0
    assert len(asked) == 2


def test_a_card_without_findings_has_nothing_to_do() -> None:
    """All pages are there all the same, and the exit code is 0."""
    result = handover(COMPLIANT)
    assert result.exit_code == 0
    assert "Nothing to do: no finding that a visit can mend." in text_of("index.html")


def _of_hostile_card(payload: str) -> str:
    Path("card.json").write_text(json.dumps(hostile_card(payload)), "utf-8")
    return "card.json"


@pytest.mark.parametrize("payload", ["markup", "direction"])
def test_a_hostile_record_can_neither_act_nor_hide(payload: str) -> None:
    """In no page: markup stays text, and controls are shown; nor can what deviations and marks say."""
    card = _of_hostile_card(PAYLOADS[payload])
    hostile = json.dumps("</style><img src=x onerror=alert(1)>\u202e")
    Path("deviations.toml").write_text(
        f'[[deviation]]\nrule = "telnet-enabled"\ncards = ["*"]\nowner = {hostile}\nreason = {hostile}\n'
        f"ticket = {hostile}\napproved = 2026-11-01\nexpires = 2026-12-01\n",
        "utf-8",
    )
    run("mark", card, "--by", "</style><img src=x onerror=alert(1)>", *AS_OF)
    assert handover(card, "--deviations", "deviations.toml").exit_code in (0, 1)
    for page in names():
        text = Path("pack", page).read_text("utf-8")
        assert "<img" not in text
        assert text.count("</style>") == 1
        assert not {"\x07", "\u202e", "\u200b"} & set(text)
        assert text.count("<script") == (page == "report.html")


def test_a_pack_that_is_there_stays_unless_it_is_to_be_replaced() -> None:
    """``--replace`` writes it anew, without the pages that it no longer has."""
    handover(COMPLIANT, PROBE)
    before = Path("pack", "index.html").read_bytes()
    refused = handover(COMPLIANT)
    assert (refused.exit_code, refused.stdout) == (2, "")
    assert "--replace" in refused.stderr
    assert Path("pack", "index.html").read_bytes() == before
    assert handover(COMPLIANT, "--replace").exit_code == 0
    assert names() == sorted([*PAGES, "worksheet-north-a-ups-01.html"])
    assert names(".") == ["pack"]


def _broken(content: str) -> list[str]:
    Path("broken.json").write_text(content, "utf-8")
    return [COMPLIANT, "broken.json"]


def _broken_mark() -> list[str]:
    Path("marks").mkdir()
    Path("marks", "north-a-ups-01.json").write_text("{}", "utf-8")
    return [COMPLIANT]


REFUSED: list[tuple[Callable[[], list[Any]], str]] = [
    (lambda: _broken("{"), "broken.json"),
    (_broken_mark, "north-a-ups-01.json"),
    (lambda: [COMPLIANT, PROPOSED], "is also the id of the record in"),
    (lambda: [COMPLIANT, "--from", "technician"], "expected an IP address"),
    (lambda: [COMPLIANT, "--key", "none.key"], "none.key"),
    (lambda: [COMPLIANT, "--deviations", "none.toml"], "none.toml"),
    (lambda: ["none.json"], "none.json"),
]


@pytest.mark.parametrize(("arguments", "said"), REFUSED)
def test_what_cant_be_used_is_told_and_nothing_is_written(
    arguments: Callable[[], list[Any]], said: str
) -> None:
    """A pack that lacks a card, a mark or a deviation would not be whole."""
    result = handover(*arguments())
    assert result.exit_code == 2
    assert said in result.stderr
    assert "Traceback" not in result.stderr
    assert not Path("pack").exists()


def test_pages_are_laid_out_for_the_paper_asked_for(two: str) -> None:
    """Without a size they take the paper that the printer holds."""
    handover(COMPLIANT, "--paper", "letter")
    for page in names():
        assert "@page { size: letter;" in Path("pack", page).read_text("utf-8"), page
    for page in names(two):
        assert "size: " not in Path(two, page).read_text("utf-8").rpartition("@page {")[2].partition("}")[0]
