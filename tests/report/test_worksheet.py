"""The worksheet: complete, in the order of a visit, inert, and without a place for a secret."""

import csv
import io
import re
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from lxml import html as lxml_html

from auditor.record.outline import leaf_at, outline
from auditor.record.pointer import join, split
from auditor.record.visit import NOT_READ, VISIT, as_question, leaves_of
from auditor.report.worksheet import HEAD, ROOM, SAFETY, Worksheet, worksheet_of
from auditor.report.worksheet_csv import COLUMNS, write_csv
from auditor.report.worksheet_html import write_html
from auditor.report.worksheet_markdown import write_markdown
from tests.record.mutations import compliant
from tests.report.hostile import PAYLOADS, hostile_card
from tests.report.sample import SECRET

CHROMIUM = shutil.which("chromium")
ACTING = "//script | //link | //img | //form | //iframe | //@style | //@*[starts-with(name(), 'on')]"
PDF_TOOLS = shutil.which("pdfinfo") and shutil.which("pdftotext")


def asked(sheet: Worksheet) -> Iterator[str]:
    """Yield the pointer of every answer that a worksheet has room for."""
    yield from (box.pointer for box in sheet.head)
    for section in (section for part in sheet.parts for section in part.sections):
        for line in (line for table in section.tables for line in table.lines):
            yield from filter(None, line.pointers)


def text_of(sheet: Worksheet, form: str) -> str:
    """Return a worksheet in one of its formats."""
    stream = io.BytesIO()
    {"html": write_html, "markdown": write_markdown, "csv": write_csv}[form](sheet, stream)
    return stream.getvalue().decode()


def found(element: Any, path: str) -> list[Any]:
    """Return what an XPath finds in an element."""
    return list(element.xpath(path))


def page_of(sheet: Worksheet) -> Any:
    """Return the root element of a worksheet's page."""
    return lxml_html.fromstring(text_of(sheet, "html"))


def test_the_blank_form_asks_for_every_setting_once() -> None:
    """Each setting that is read by hand has its place, in each member that the form has room for."""
    pointers = list(asked(worksheet_of()))
    assert len(pointers) == len(set(pointers))
    patterns = {
        tuple("*" if token.isdecimal() else token for token in split(pointer)) for pointer in pointers
    }
    secrets = {leaf.tokens for leaf in outline() if leaf.kind == "secret"}
    wanted = {leaf.tokens for leaf in outline()} - NOT_READ - secrets
    wanted |= {(*tokens, "sealed", part) for tokens in secrets for part in ("length", "listed")}
    assert patterns == wanted
    assert {f"/accounts/{index}/name" for index in range(ROOM)} <= set(pointers)


def test_a_visit_reads_every_setting_in_one_section() -> None:
    """No setting stands at two stops, and none at no stop but what belongs to files."""
    read = [leaf.tokens for stop in VISIT for section in stop.sections for leaf in leaves_of(section)]
    assert len(read) == len(set(read))
    assert {leaf.tokens for leaf in outline()} - set(read) == NOT_READ


def test_the_visit_goes_from_the_console_over_addressing_to_the_web_pages() -> None:
    """The serial console comes first, with its line settings; then the network; then the pages."""
    parts = worksheet_of().parts
    assert parts[0].sections[0].title == "Serial console"
    assert "9600 bit/s, 8 data bits, no parity, 1 stop bit (8-N-1), no flow control" in parts[0].how[0]
    assert [[section.title for section in part.sections] for part in parts[1:]] == [
        ["Network"],
        [
            "Accounts", "Access policy", "Services", "TLS", "SSH", "SNMP", "Directory", "Time", "Log", "Mail",
            "Shutdown", "Probe", "Maintenance", "Site notes",
        ],
    ]  # fmt: skip


def test_what_the_record_knows_is_left_out() -> None:
    """Only what is unknown is asked; a table of a list shows which members the answers are about."""
    card = compliant()
    before = set(asked(worksheet_of(card)))
    del card["accounts"][1]["role"]
    del card["mail"]["password"]
    sheet = worksheet_of(card)
    assert set(asked(sheet)) - before == {
        "/accounts/1/role", "/mail/password/sealed/length", "/mail/password/sealed/listed",
    }  # fmt: skip
    table = next(
        t for p in sheet.parts for s in p.sections for t in s.tables if s.title == "Accounts" and t.lines
    )
    assert table.columns == ("1: factory", "2: r.osei", "3: break-glass", "4: monitor")
    assert table.lines[0].pointers == ("", "/accounts/1/role", "", "")


def test_a_whole_record_leaves_nothing_to_read() -> None:
    """A form without questions says so, in every format that people read."""
    card = hostile_card("x")
    card["tls"]["certificate"]["is_factory"] = False
    sheet = worksheet_of(card)
    assert sheet.parts == ()
    assert all("Nothing is left to read" in text_of(sheet, form) for form in ("html", "markdown"))


def test_the_head_names_card_site_date_and_technician() -> None:
    """Card and site are filled in; when and by whom the form is filled in nobody knows before the visit."""
    captured = {"taken_at": "2026-11-24T07:55:00+00:00", "taken_by": "S. Lindqvist"}
    record = {"card": {"id": "ups-07", "site": "North"}, "capture": captured}
    boxes = {box.pointer: box.value for box in worksheet_of(record).head}
    assert boxes == {
        "/card/id": "ups-07",
        "/card/site": "North",
        "/capture/taken_at": "",
        "/capture/taken_by": "",
    }
    assert [join(tokens) for tokens, _ in HEAD] == list(boxes)


@pytest.mark.parametrize("form", ["html", "markdown"])
def test_cautions_come_before_the_first_question(form: str) -> None:
    """Local codes and licensed practice first, then people, output switching and life safety."""
    text = text_of(worksheet_of(), form)
    page = str(page_of(worksheet_of()).text_content()) if form == "html" else text
    places = [page.index(caution) for caution in SAFETY]
    assert places == sorted(places)
    assert "licensed practice" in SAFETY[0]
    assert places[-1] < page.index("Serial console: 9600")
    assert "Write no password, community or key on this form" in page


def test_no_secret_is_asked_for() -> None:
    """Of a secret the form asks only length and list, never the secret itself."""
    secrets = {leaf.tokens for leaf in outline() if leaf.kind == "secret"}
    patterns = [
        tuple("*" if t.isdecimal() else t for t in split(pointer)) for pointer in asked(worksheet_of())
    ]
    assert secrets & set(patterns) == set()
    assert {at[-1] for at in patterns if at[-2:-1] == ("sealed",)} == {"length", "listed"}


def test_questions_of_truth_are_answered_by_yes_and_no() -> None:
    """No description of a truth asks for true or false: the form has boxes for yes and no."""
    truths = [leaf for leaf in outline() if leaf.kind == "boolean"]
    assert [
        as_question(leaf) for leaf in truths if re.search(r"\b[Tt]rue\b|\b[Ff]alse\b", as_question(leaf))
    ] == []
    leaf = leaf_at(("maintenance", "backup", "exists"))
    assert leaf is not None
    assert as_question(leaf) == "Yes when there is a backup of the settings; no when there is none."


def test_every_setting_says_in_plain_words_what_is_allowed() -> None:
    """Nothing on the form speaks of a form below, which only a message of faults has."""
    assert [
        leaf.tokens for leaf in outline() if leaf.tokens not in NOT_READ and "below" in leaf.allowed
    ] == []


def test_the_csv_form_has_a_row_for_every_answer() -> None:
    """Pointer, question, unit and what is allowed; the answer is empty but for what the head knows."""
    rows = list(
        csv.DictReader(io.StringIO(text_of(worksheet_of({"card": {"id": "ups-07"}}), "csv"), newline=""))
    )
    assert tuple(rows[0]) == COLUMNS
    assert [row["pointer"] for row in rows if row["answer"]] == ["/card/id"]
    assert {row["pointer"] for row in rows} == set(asked(worksheet_of({"card": {"id": "ups-07"}})))
    assert all(row["question"] and row["allowed"] for row in rows)
    (port,) = (row for row in rows if row["pointer"] == "/access_policy/session_timeout_s")
    assert (port["unit"], port["allowed"]) == ("s", "a whole number, 0 to 2592000")


def hostile(text: str) -> Worksheet:
    """Return the worksheet of a record that knows only hostile names."""
    whole = hostile_card(text)
    card = {
        "card": {"id": "x", "site": whole["card"]["site"]},
        "capture": {"taken_by": whole["capture"]["taken_by"]},
    }
    return worksheet_of(
        {**card, "accounts": [{"name": whole["accounts"][0]["name"], "password": {"clear": SECRET}}]}
    )


@pytest.mark.parametrize("name", PAYLOADS)
@pytest.mark.parametrize("form", ["html", "markdown", "csv"])
def test_hostile_names_stay_inert(name: str, form: str) -> None:
    """No markup, control character, direction or formula of a record acts, and no secret shows."""
    text = text_of(hostile(PAYLOADS[name]), form)
    assert not re.search("[\x00-\x08\x0b-\x1f\x7f\u202a-\u202e\u2066-\u2069]", text.replace("\r\n", "\n"))
    assert SECRET not in text
    if form != "csv":
        assert "<script" not in text.casefold()
        assert "<img" not in text.casefold()
    else:
        cells = [cell for row in csv.reader(io.StringIO(text, newline="")) for cell in row]
        assert [cell for cell in cells if cell.lstrip().startswith(("=", "+", "-", "@", "\uff1d"))] == []


def test_the_page_fetches_nothing_and_has_no_script() -> None:
    """A policy allows one style by its hash and nothing else; no link, image, form or handler is there."""
    page = page_of(worksheet_of())
    (policy,) = found(page, "//meta[@http-equiv='Content-Security-Policy']/@content")
    style = r"default-src 'none'; style-src 'sha256-[^']+'; script-src 'none'"
    assert re.fullmatch(rf"{style}; base-uri 'none'; form-action 'none'", policy)
    assert found(page, ACTING) == []


def test_every_line_has_a_box_for_its_value_and_for_initials() -> None:
    """In each table all rows fill the same columns: question, values, initials."""
    for table in found(page_of(worksheet_of()), "//table"):
        columns = len(found(table, "./thead/tr/th"))
        for row in found(table, "./tbody/tr"):
            assert sum(int(cell.get("colspan", "1")) for cell in row) == columns
            assert found(row, "./td[@class='initials']")


@pytest.mark.skipif(not (CHROMIUM and PDF_TOOLS), reason="needs chromium and poppler-utils")
@pytest.mark.parametrize(("paper", "width"), [("A4", 595), ("letter", 612)])
def test_the_page_prints_on_both_papers(paper: str, width: int, tmp_path: Path) -> None:
    """On A4 and on letter every question is printed, nothing is cut off, and each page has its number."""
    text = re.sub(r"<meta http-equiv[^>]*>", "", text_of(worksheet_of(), "html"))
    (tmp_path / "form.html").write_text(text.replace("@page {", f"@page {{ size: {paper};", 1), "utf-8")
    pdf = _printed(tmp_path)
    pages = _run("pdfinfo", str(pdf))
    assert f"Page size:       {width}" in pages.replace("594.96", "595")
    words = " ".join(_run("pdftotext", "-layout", str(pdf), "-").split())
    count = int(re.search(r"Pages:\s+(\d+)", pages)[1])  # type: ignore[index]  # pdfinfo says it
    assert all(f"Page {number} of {count}" in words for number in range(1, count + 1))
    assert words.count("Initials") >= sum(len(s.tables) for p in worksheet_of().parts for s in p.sections)
    boxes = re.findall(r'xMin="([\d.]+)".*?xMax="([\d.]+)"', _run("pdftotext", "-bbox", str(pdf), "-"))
    assert min(float(left) for left, _ in boxes) > 20
    assert max(float(right) for _, right in boxes) < width - 20


def _printed(folder: Path) -> Path:
    arguments = [
        "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
        "--disable-background-networking", "--disable-component-update", "--disable-sync",
        f"--user-data-dir={folder / 'profile'}", "--no-pdf-header-footer",
        f"--print-to-pdf={folder / 'form.pdf'}", (folder / "form.html").as_uri(),
    ]  # fmt: skip
    _run(str(CHROMIUM), *arguments)
    return folder / "form.pdf"


def _run(*command: str) -> str:
    done = subprocess.run(command, capture_output=True, timeout=120, check=True)  # noqa: S603 - our own arguments
    return done.stdout.decode()
