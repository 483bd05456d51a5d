"""The sheet: one row a card, there and back, and every way in which CSV goes wrong."""

import csv
import io
from collections.abc import Sequence
from typing import Any

import orjson
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from auditor.errors import InputError
from auditor.intake.csv_cells import LONGEST_CELL, guarded, unguarded
from auditor.intake.imported import Imported, Origin
from auditor.intake.sheet import MOST_FAULTS, dictionary, read_sheet, template, write_sheet
from auditor.record.outline import outline
from auditor.record.reading import read_record
from auditor.record.schema import SCHEMA_NAME
from tests.intake.by_hand import CARDS, bounded, faults_of, without_schema
from tests.record.mutations import compliant
from tests.report.hostile import PAYLOADS, hostile_card

FILE = "cards.csv"


def sheet(*rows: Sequence[str]) -> bytes:
    """Return rows as CSV, as a spreadsheet writes them."""
    stream = io.StringIO(newline="")
    csv.writer(stream).writerows(rows)
    return stream.getvalue().encode()


def one(**cells: str) -> Imported:
    """Read a sheet of one card; in the names of columns, two underscores stand for a dot."""
    names = [name.replace("__", ".") for name in cells]
    (imported,) = read_sheet(sheet(["card.id", *names], ["ups-07", *cells.values()]), FILE)
    return imported


def faults(*rows: Sequence[str]) -> list[tuple[int, str]]:
    """Return line and problem of every fault of a sheet."""
    return [(fault.line, fault.problem) for fault in faults_of(lambda: read_sheet(sheet(*rows), FILE))]


@given(st.lists(CARDS, min_size=1, max_size=3))
@settings(deadline=None)
def test_a_record_comes_back_from_a_sheet_as_it_went(cards: list[dict[str, Any]]) -> None:
    """Record → sheet → record is the identity, card by card, in order."""
    for number, card in enumerate(cards):
        card["card"]["id"] = f"card-{number}"
    back = read_sheet(write_sheet(cards).encode(), FILE)
    assert [imported.settings for imported in back] == [without_schema(card) for card in cards]


TEXTS = st.text(st.characters(codec="utf-8"), min_size=1, max_size=40)
WIDE = "\uff1d\uff0b\uff0d\uff20"
"""The wide forms of the signs that begin a formula."""
WORDS = st.lists(TEXTS, max_size=4)


@given(TEXTS, TEXTS, WORDS)
@settings(deadline=None)
@example("none", "none", ["none"])
@example("=1+1", "'=1", ["'", "''", "(none)"])
@example('"', '""', ['"a"', "a;b", " "])
@example("a\0b\r\n\ufeff", "\ufeff", ["\0", "\x85", "\u2028"])
def test_any_text_comes_back(name: str, secret: str, words: list[str]) -> None:
    """Text, secrets and lists of text survive whatever characters they hold."""
    card = {
        "card": {"id": "a", "name": name},
        "tls": {"certificate": {"subject_names": words}},
        "unmapped": words,
    }
    if "\0" not in secret and not set(secret.strip()) <= set("*•"):
        card["mail"] = {"password": {"clear": secret}}
    (back,) = read_sheet(write_sheet([card]).encode(), FILE)
    assert back.settings == card


@given(TEXTS)
@settings(deadline=None)
@example("-5")
@example(WIDE[0] + "1")
def test_a_guarded_cell_is_no_formula_and_comes_back(text: str) -> None:
    """No written cell begins like a formula, unless it is a plain number; the guard comes off again."""
    cell = guarded(text)
    assert unguarded(cell) == text
    if cell.lstrip().startswith((*"=+-@", *WIDE)):
        assert float(cell) == float(text)


@pytest.mark.parametrize("name", PAYLOADS)
def test_hostile_records_come_back(name: str) -> None:
    """Markup, formulas, controls, directions and long texts survive; every member of the schema is there."""
    card = hostile_card(PAYLOADS[name])
    card["tls"]["certificate"] = {"subject": "CN=x"}
    card["unmapped"] = ["a"]
    assert read_sheet(write_sheet([card]).encode(), FILE)[0].settings == without_schema(card)


def test_the_template_names_every_setting_and_is_read() -> None:
    """The empty sheet has a column for each setting; with a row of one id it is a sheet of one card."""
    names = next(csv.reader(io.StringIO(template())))
    assert len(names) == len(outline())
    assert names[:2] == ["card.id", "card.site"]
    (imported,) = read_sheet((template() + "ups-07" + "," * (len(names) - 1) + "\r\n").encode(), FILE)
    assert imported.settings == {"card": {"id": "ups-07"}}


def test_the_dictionary_explains_every_column() -> None:
    """Each column has a title, a meaning and what is allowed, in the order of the template."""
    entries = dictionary()
    assert [entry.column for entry in entries] == next(csv.reader(io.StringIO(template())))
    assert all(entry.title and entry.description and entry.allowed for entry in entries)
    assert next(entry.allowed for entry in entries if entry.column == "ssh.ciphers").startswith("(none), or")


def test_what_is_read_is_a_valid_record_with_origins() -> None:
    """The settings validate once id and schema are put in, and each leaf says its line and column."""
    imported = one(services__telnet__enabled="no", accounts__1__name="admin", accounts__1__password="clear:x")  # noqa: S106 - a test's
    read_record(orjson.dumps({"schema": SCHEMA_NAME, **imported.settings}), FILE)
    assert (imported.card_id, imported.method) == ("ups-07", "sheet")
    assert imported.origins["/services/telnet/enabled"] == Origin(FILE, 2, "column services.telnet.enabled")
    assert set(imported.origins) == {
        "/card/id", "/services/telnet/enabled", "/accounts/0/name", "/accounts/0/password",
    }  # fmt: skip


@pytest.mark.parametrize(
    ("column", "cell", "value"),
    [
        ("services.telnet.enabled", " TRUE ", True),
        ("services.telnet.enabled", "off", False),
        ("services.telnet.port", "23.0", 23),
        ("time.utc_offset_min", "-300", -300),
        ("time.utc_offset_min", "'-300", -300),
        ("equipment.runtime_min", "1.5e1", 15),
        ("equipment.kind", "UPS", "ups"),
        ("card.name", "'=not a formula", "=not a formula"),
        ("card.name", "none", "none"),
        ("snmp.vacm.access.1.context", '""', ""),
        ("accounts", "none", []),
        ("snmp.versions", "none", []),
        ("snmp.versions", "v1; V2C ;", ["v1", "v2c"]),
        ("ssh.ciphers", "none;", ["none"]),
        ("ssh.ciphers", "(none)", []),
        ("snmp.communities", "2", [{}, {}]),
        ("network.allowed_sources", "Any", {"any": True}),
        ("network.allowed_sources", "nobody", {"prefixes": []}),
        (
            "network.allowed_sources",
            "192.0.2.0/24;2001:db8::/32",
            {"prefixes": ["192.0.2.0/24", "2001:db8::/32"]},
        ),
        ("mail.password", "clear: a b ", {"clear": " a b "}),
        ("mail.password", "Empty", {"empty": True}),
        ("mail.password", "crypt:$6$s$h", {"crypt": "$6$s$h"}),
        ("mail.password", "localized:" + "0a" * 16, {"localized": "0a" * 16}),
        ("mail.password", "sealed:length=8 listed=none", {"sealed": {"length": 8, "listed": "none"}}),
    ],
)
def test_a_cell_states_a_value(column: str, cell: str, value: object) -> None:
    """What people and spreadsheets write for a value is read as that value."""
    (imported,) = read_sheet(sheet(["card.id", column], ["a", cell]), FILE)
    found: Any = imported.settings
    for token in column.split("."):
        found = found[int(token) - 1] if token.isdecimal() else found[token]
    assert found == value


@pytest.mark.parametrize(
    ("column", "cell", "problem"),
    [
        ("services.telnet.enabled", "perhaps", "expected yes or no"),
        ("services.telnet.port", "23/tcp", "expected a number"),
        ("services.telnet.port", "70000", "expected a whole number, 1 to 65535; found 70000"),
        ("services.telnet.port", "1e999", "expected a number"),
        ("equipment.kind", "upss", 'found "upss"'),
        ("card.name", "=HYPERLINK(1)", "a formula"),
        ("card.name", '"open', "a quotation mark at its start"),
        ("ssh.ciphers", "none", "none may mean an empty list or an item of this name"),
        ("network.allowed_sources", "none", "none may mean no limit or nobody"),
        ("network.allowed_sources", "192.0.2.0", "expected text such as 192.0.2.0/24"),
        ("snmp.versions", "v1;v1", "an item stands twice"),
        ("snmp.versions", '"v1"x', "expected items separated by ;"),
        ("snmp.communities", "many", "expected none, or how many there are"),
        ("snmp.communities", "99999", "expected at most 10000 members"),
        ("shutdown.no_battery_timer", "no", "expected true"),
        ("mail.password", "Summer2026", "expected a secret with its form before it"),
        ("mail.password", "clear:", "nothing follows clear:"),
        ("mail.password", "localized:Summer2026", "found text"),
        ("mail.password", "sealed:Summer2026", "expected what is known of the secret"),
        ("accounts.1.role", "viewer", "this member is missing"),
    ],
)
def test_a_bad_cell_is_told_with_line_and_column(column: str, cell: str, problem: str) -> None:
    """The fault names the line and the column, and never repeats a secret."""
    (fault,) = faults_of(lambda: read_sheet(sheet(["card.id", column], ["a", cell]), FILE))
    assert problem in fault.problem
    assert (fault.line, f"column {column}" in fault.problem) == (2, True)
    assert fault.remedy
    assert "Summer2026" not in str(fault)


@pytest.mark.parametrize("mask", ["********", "clear:••••", "<hidden>", "clear: ****"])
def test_a_masked_secret_is_unknown_and_told_as_lost(mask: str) -> None:
    """A mask is no secret of eight characters; that there is a member of the list stays known."""
    imported = one(mail__password=mask, snmp__communities__1__community=mask)
    assert imported.settings == {"card": {"id": "ups-07"}, "snmp": {"communities": [{}]}}
    assert [lost.origin.at for lost in imported.lost] == [
        "column mail.password",
        "column snmp.communities.1.community",
    ]
    assert set(imported.origins) == {"/card/id"}


def test_a_gap_in_a_list_is_told() -> None:
    """The second account without the first is a slip, unless the sheet says how many there are."""
    header = ["card.id", "snmp.communities", "snmp.communities.2.access"]
    assert faults(header, ["a", "", "read"])[0][1].endswith(
        "member 1 of the list is empty, but a later one is not"
    )
    assert "said to have 1 members, but member 2" in faults(header, ["a", "1", "read"])[0][1]
    (imported,) = read_sheet(sheet(header, ["a", "2", "read"]), FILE)
    assert imported.settings["snmp"]["communities"] == [{}, {"access": "read"}]


def test_all_faults_of_a_sheet_are_told_together_in_file_order() -> None:
    """A row's faults do not hide those of the next row."""
    header = ["card.id", "services.telnet.port", "mail.enabled"]
    found = faults(
        header, ["a", "x", "y?"], ["b", "23", "no"], ["", "23", "no"], ["b", "0", "no"], ["b", "", ""]
    )
    assert [line for line, _ in found] == [2, 2, 4, 5, 6]


@pytest.mark.parametrize(
    ("header", "problem"),
    [
        (["card.id", "service.telnet.enabled"], 'no setting is named "service.telnet.enabled"'),
        (["card.id", "accounts.0.name"], 'no setting is named "accounts.0.name"'),
        (["card.id", "accounts.99999.name"], 'no setting is named "accounts.99999.name"'),
        (["card.id", "card.name", "card.name"], 'column "card.name" stands 2 times'),
        (["card.name"], "no column card.id"),
    ],
)
def test_a_bad_header_is_told(header: list[str], problem: str) -> None:
    """Unknown names, doubled names and a missing id are faults of the first row."""
    assert faults(header, ["x"] * len(header)) == [(1, problem)]


def test_an_unknown_column_names_the_nearest() -> None:
    """A misspelt column is answered with the right name, and how to keep one of one's own."""
    (fault,) = faults_of(lambda: read_sheet(sheet(["card.id", "services.telnt.enabled"], ["a", "no"]), FILE))
    assert fault.remedy == "Did you mean services.telnet.enabled? A column of your own begins with #."


def test_columns_of_the_sites_own_and_empty_rows_are_left_alone() -> None:
    """A column that begins with #, columns without a name and cells, and rows of blanks are no settings."""
    (imported,) = read_sheet(
        sheet(["card.id", "#rack", "", ""], ["", " ", "", ""], ["a", "R7", "", ""]), FILE
    )
    assert imported.settings == {"card": {"id": "a"}}
    assert faults(["card.id", ""], ["a", "x"]) == [(2, "cell 2 of the row stands under no name")]


@pytest.mark.parametrize("ending", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("separator", [",", ";", "\t"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_line_ends_separators_and_a_byte_order_mark_do_not_matter(
    ending: str, separator: str, mark: bytes
) -> None:
    """What spreadsheets of several countries and systems write is one and the same sheet."""
    rows = [["card.id", "card.name", "snmp.versions"], ["a", '"x, ""y"""', '"v1;v3"'], ["b", "é", ""]]
    text = mark + ending.join(separator.join(row) for row in rows).encode()
    first, second = read_sheet(text, FILE)
    assert first.settings["card"]["name"] == 'x, "y"'
    assert first.settings["snmp"]["versions"] == ["v1", "v3"]
    assert (second.settings["card"]["name"], second.origins["/card/name"].line) == ("é", 3)


HUGE = f"a cell of more than {LONGEST_CELL} characters"
STRAY = "text follows a closing quotation mark in this row"
OPEN = "a quotation mark in this row is never closed"
BAD = {
    "nothing": (b"", 0, "empty"),
    "blanks": (b" \r\n ,\r\n", 0, "empty"),
    "a header alone": (b"card.id\r\n", 0, "no row but the header"),
    "a NUL": (b"card.id,card.name\na,\nb,x\0y\n", 3, "a NUL character"),
    "latin letters": ("card.id,card.name\na,é\n".encode("latin-1"), 2, "the text is not UTF-8"),
    "UTF-16": ("card.id\na\n".encode("utf-16"), 1, "the text is UTF-16"),
    "a workbook": (b"PK\x03\x04", 1, "this is a workbook or an archive, not CSV"),
    "an open quotation mark": (b'card.id,card.name\na,"x\nb,y\n', 2, OPEN),
    "a stray quotation mark": (b'card.id,card.name\na,"x"y\n', 2, STRAY),
    "a short row": (b"card.id,card.name,card.site\na,x\n", 2, "the row has 2 cells; the first row has 3"),
    "a long row": (b"card.id,card.name\na,x,y\n", 2, "cell 3 of the row stands under no name"),
    "a huge cell": (b'card.id\n"' + b"x" * (LONGEST_CELL + 1) + b'"\n', 2, HUGE),
    "a huge file": (b"card.id\n" + b"a\n" * (9 << 20), 0, "larger than 16 MiB, the most for one sheet"),
    "endless rows": (b"card.id\n" + b"\n" * 30_000, 20_001, "more than 20000 rows"),
    "endless columns": (b"card.id" + b"," * (8 << 20) + b"\na\n", 1, "more than 20000 columns"),
    "a quotation mark before everything": (b'"' + b"card.id,\n" * 100_000, 1, HUGE),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_bad_csv_is_one_clear_error_in_bounded_time_and_memory(name: str) -> None:
    """Each kind of broken or hostile CSV gives one fault with its line, and costs little."""
    text, line, problem = BAD[name]
    with bounded():
        (fault,) = faults_of(lambda: read_sheet(text, FILE))
    assert (fault.file, fault.line) == (FILE, line)
    assert problem in fault.problem
    assert fault.remedy


@pytest.mark.parametrize(
    "text",
    [
        b"card.id," + b",".join(b"x%d" % n for n in range(19_000)) + b"\na\n",
        b"card.id," + b"y" * 100_000 + b"\na,b\n",
        b"card.id,card.mac_address\n" + b"".join(b"a%d,no\n" % n for n in range(15_000)),
        b"card.id,mail.enabled\n" + b"a,?\n" * 15_000,
        b"card.id,unmapped\na," + b";" * 100_000 + b"\na,=\n",
        b'card.id,unmapped\na,"' + b'""x""' * 20_000 + b'"\n',
        b"card.id,snmp.communities.10000.name\na,x\n",
    ],
    ids=["unknown columns", "a long name", "bad values", "bad cells", "separators", "quotes", "a far member"],
)  # fmt: skip
def test_endless_faults_stay_bounded(text: bytes) -> None:
    """A sheet full of faults is refused in bounded time, and not every one of them is told."""
    with bounded():
        found = faults_of(lambda: read_sheet(text, FILE))
    assert 0 < len(found) <= MOST_FAULTS + 1


def test_a_full_sheet_of_good_cards_stays_bounded() -> None:
    """A hundred whole cards are read well within the bounds of a bad input."""
    cards = []
    for number in range(100):
        card = compliant()
        card["card"]["id"] = f"card-{number}"
        cards.append(card)
    text = write_sheet(cards).encode()
    with bounded():
        assert len(read_sheet(text, FILE)) == 100


def test_what_a_sheet_cant_hold_is_refused_when_written() -> None:
    """A text longer than a cell, or a secret with a NUL, is named, not cut."""
    card = {
        "card": {"id": "a"},
        "tls": {"certificate": {"pem": "x" * LONGEST_CELL}},
        "mail": {"password": {"clear": "\0"}},
    }
    with pytest.raises(InputError) as caught:
        write_sheet([card])
    assert [fault.pointer for fault in caught.value.faults] == ["/tls/certificate/pem", "/mail/password"]
