"""JSON, labelled text, terminal captures and CSV: what is found, and where."""

from typing import Final

import pytest

from auditor.errors import InputError
from auditor.intake.mapping.applying import apply_map
from auditor.intake.mapping.language import Layout, Map
from auditor.intake.mapping.reading_csv import read_csv
from auditor.intake.mapping.reading_json import read_json
from auditor.intake.mapping.reading_text import TextBlock, match_form, read_text
from auditor.intake.mapping.terminal import read_lines, seen
from tests.intake.mapping.samples import faults_of, imported, made, one_fault, setting, taken, whys

ACCOUNTS = """
[[list]]
to = "/accounts"
{place}
    [[list.setting]]
    to = "/name"
    from = "{name}"

    [[list.setting]]
    to = "/enabled"
    from = "{enabled}"
"""


def account_map(source: str, place: str, name: str, enabled: str, head: str = "") -> Map:
    """Return a map of a list of accounts with a name each, and whether it is on."""
    return made(source, ACCOUNTS.format(place=place, name=name, enabled=enabled), head)


BOTH: Final = [{"name": "ada", "enabled": True}, {"name": "bob", "enabled": False}]


def layout(**told: object) -> Layout:
    """Return a layout of labelled text."""
    usual: dict[str, object] = {
        "separator": ":", "sections": (), "blocks": (), "asides": "", "answers": "",
        "last_counts": False, "namespaces": {},
    }  # fmt: skip
    return Layout(**{**usual, **told})  # type: ignore[arg-type]


# --- lists, in every kind of source ------------------------------------------------------------


@pytest.mark.parametrize(
    ("source", "place", "name", "enabled", "text"),
    [
        ("xml", 'each = "u"', "@n", "on", "<r><u n='ada'><on>yes</on></u><u n='bob'><on>no</on></u></r>"),
        ("json", 'each = "/u/*"', "/n", "/on", '{"u": [{"n": "ada", "on": 1}, {"n": "bob", "on": 0}]}'),
        ("json", 'each = "/u/*"', "@name", "/on", '{"u": {"ada": {"on": 1}, "bob": {"on": 0}}}'),
        ("text", 'each = "User"', "User", "On", "User: ada\nOn: yes\nUser: bob\nOn: no\n"),
        ("text", 'each = "user.#.name"', "user.#.name", "user.#.on",
         "user.1.name: ada\nuser.1.on: yes\nuser.2.name: bob\nuser.2.on: no\n"),
        ("csv", 'each = "User # name"', "User # name", "User # on",
         "User 1 name,User 1 on,User 2 name,User 2 on,User 3 name,User 3 on,x\nada,yes,bob,no,,,1\n"),
    ],
)  # fmt: skip
def test_a_repeated_block_becomes_a_member(
    source: str, place: str, name: str, enabled: str, text: str
) -> None:
    """Elements, items, members by name, labels that begin again, numbers in labels and in columns."""
    head = 'card_id = "x"' if source == "csv" else ""
    assert taken(account_map(source, place, name, enabled, head), text, "/accounts") == BOTH


def test_titled_blocks_become_members() -> None:
    """Sections of an INI-like file, and blocks inside a section, with the star as their name."""
    text = "[user ada]\non = yes\n[other]\non = yes\n[user bob]\non = no\n"
    head = '[layout]\nseparator = "="\nsections = ["[*]"]'
    assert taken(account_map("text", 'each = "user *"', "@name", "on", head), text, "/accounts") == BOTH
    text = "== users ==\n-- user ada --\non: yes\n-- user bob --\non: no\n== end ==\non: no\n"
    head = '[layout]\nsections = ["== * =="]\nblocks = ["-- * --"]'
    place = 'inside = "users"\neach = "user *"'
    assert taken(account_map("text", place, "@name", "on", head), text, "/accounts") == BOTH


@pytest.mark.parametrize(
    ("source", "place", "empty", "silent"),
    [
        ("xml", 'inside = "us"\neach = "u"', "<r><us/></r>", "<r/>"),
        ("json", 'each = "/us/*"', '{"us": []}', "{}"),
        ("json", 'inside = "/us"\neach = "/*"', '{"us": {}}', '{"us": null}'),
        ("text", 'inside = "us"\neach = "u *"', "[us]\nx: 1\n", "x: 1\n"),
    ],
)
def test_none_is_configured_where_the_source_has_an_empty_holder(
    source: str, place: str, empty: str, silent: str
) -> None:
    """What would hold the blocks is there and holds none; where it is not there, nothing is known."""
    head = '[layout]\nsections = ["[*]"]' if source == "text" else ""
    chosen = account_map(
        source, place, "/n" if source == "json" else "n", "/o" if source == "json" else "o", head
    )
    assert taken(chosen, empty, "/accounts") == []
    assert "accounts" not in imported(chosen, silent).settings


def test_an_empty_slot_is_no_member() -> None:
    """A block without what the list needs; if there are only such, none is configured."""
    place = 'each = "u"\nneeds = "/name"'
    chosen = account_map("xml", place, "n", "on")
    text = "<r><u><n/><on>no</on></u><u><n>ada</n><on>yes</on></u></r>"
    assert taken(chosen, text, "/accounts") == [{"name": "ada", "enabled": True}]
    found = imported(chosen, "<r><u><n/><on>no</on></u></r>")
    assert (found.settings, found.lost, found.unmapped) == ({"accounts": []}, (), ())


def test_a_block_of_which_nothing_could_be_taken_is_told() -> None:
    """The list would otherwise seem complete."""
    found = imported(account_map("xml", 'each = "u"', "n", "on"), "<r><u><x>1</x></u><u><n>ada</n></u></r>")
    assert found.settings == {"accounts": [{"name": "ada"}]}
    assert whys(found) == ["a block of which no setting could be taken"]


def test_a_list_in_a_member_that_came_to_nothing_goes_with_it() -> None:
    """Its empty list is not given to the next member."""
    body = """
[[list]]
to = "/network/interfaces"
each = "i"
    [[list.setting]]
    to = "/name"
    from = "n"
    [[list.list]]
    to = "/ipv6/addresses"
    inside = "as"
    each = "a"
        [[list.list.setting]]
        to = "/address"
        from = "."
"""
    text = "<r><i><as/></i><i><n>lan</n><as><a>2001:db8::1</a></as></i><i><n>two</n><as/></i></r>"
    assert taken(made("xml", body), text, "/network/interfaces") == [
        {"name": "lan", "ipv6": {"addresses": [{"address": "2001:db8::1"}]}},
        {"name": "two", "ipv6": {"addresses": []}},
    ]


def test_more_members_than_a_record_may_have_are_told() -> None:
    """The first ten thousand are taken."""
    text = "<r>" + "<u><n>a</n></u>" * 10_003 + "</r>"
    found = imported(account_map("xml", 'each = "u"', "n", "on"), text)
    assert len(found.settings["accounts"]) == 10_000
    assert whys(found) == ["more than 10000 members of one list"]


# --- JSON ---------------------------------------------------------------------------------------


def test_json_values_have_their_lines() -> None:
    """Of every value, names with slashes and tildes included; null is nothing."""
    block = read_json(b'{"a":\n [1,\n  {"b/c": true}],\n "n": null}', "f.json")
    assert [(one.text, one.line, one.at) for one in block.find("/a/*")] == [("1", 2, "/a/0"), ("", 3, "/a/1")]
    [found] = block.find("/a/1/b~1c")
    assert (found.text, found.line, found.at, found.name) == ("true", 3, "/a/1/b~1c", "/a/*/b~1c")
    assert (block.find("/n"), block.find("/a/7"), block.find("/x/*")) == ((), (), ())


def test_numbers_of_json_are_read_as_written() -> None:
    """Whole, with decimals, and false is a word for false."""
    body = setting("/snmp/port", place="/p") + setting("/mail/enabled", place="/m")
    body += setting("/equipment/runtime_min", 'unit = "min"', place="/r")
    found = imported(made("json", body), '{"p": 161, "m": false, "r": 7.5}')
    assert found.settings == {
        "snmp": {"port": 161},
        "mail": {"enabled": False},
        "equipment": {"runtime_min": 7.5},
    }


# --- labelled text and terminals ------------------------------------------------------------------


def texts(block: TextBlock, place: str) -> list[str]:
    """Return the texts at a label."""
    return [found.text for found in block.find(place)]


def test_labels_are_met_in_any_case_and_spacing() -> None:
    """Leaders of dots belong to no label; the value keeps its colons."""
    block = read_text(b"  Host   Name ....... : a:b:c\n", "t", layout())
    assert texts(block, "host name") == ["a:b:c"]


def test_a_label_of_a_section_is_not_that_of_its_blocks() -> None:
    """The port of the agent is not the port of a receiver, though both stand below the same title."""
    text = b"[[snmp]]\nport: 161\n[receiver 1]\nport: 162\nhost: h\n"
    block = read_text(text, "t", layout(sections=("[[*]]",), blocks=("[*]",)))
    assert texts(block, "snmp > port") == ["161"]
    assert texts(block, "snmp > receiver 1 > port") == ["162"]
    assert texts(block, "snmp > host") == ["h"]
    assert texts(block, "port") == ["161", "162"]


def test_a_prompt_keeps_its_value_unless_it_was_answered() -> None:
    """Before or after the separator; remarks in brackets belong to no label."""
    text = b"Telnet (on/off) [off] :\nShell (on/off) [off] : on\nPort: [22] 2222\nUser: [ada]\n"
    block = read_text(text, "t", layout(answers="[]", asides="()"))
    assert [texts(block, label) for label in ("telnet", "shell", "port", "user")] == [
        ["off"],
        ["on"],
        ["2222"],
        ["ada"],
    ]


def test_the_last_answer_counts_where_the_map_says_so() -> None:
    """A dialogue that was gone through twice."""
    text = b"Telnet: on\nTelnet: off\n"
    assert texts(read_text(text, "t", layout(last_counts=True)), "Telnet") == ["off"]
    assert texts(read_text(text, "t", layout()), "Telnet") == ["on", "off"]


@pytest.mark.parametrize(
    ("raw", "shown"),
    [
        ("\x1b[1;32mname\x1b[0m: a", "name: a"),
        ("\x1b]0;title\x07name: a", "name: a"),
        ("name: ab\b \bc", "name: ac"),
        ("\b\bname: a", "name: a"),
        ("--More--\r        \rname: a", "name: a"),
        ("name: old\rname: new", "name: new"),
        ("\x07name: a\x7f\r", "name: a"),
        ("name:\ta", "name:\ta"),
        ("\x1b", ""),
        ("\x1b[", "["),
    ],
)
def test_a_line_is_what_a_terminal_would_show(raw: str, shown: str) -> None:
    """Colours, titles, corrections and pagers leave no trace. Source: ECMA-48 for the sequences."""
    assert seen(raw) == shown


def test_lines_keep_their_numbers() -> None:
    """Blank lines count, a byte order mark does not, carriage returns make no line."""
    assert read_lines(b"\xef\xbb\xbfa: 1\r\n\r\nb: 2\r\n", "t") == [(1, "a: 1"), (3, "b: 2")]


@pytest.mark.parametrize(
    ("text", "line", "problem"),
    [
        (b"a: 1\nb:\x00", 2, "a NUL character"),
        (b"a: 1\n\xff", 2, "not UTF-8"),
        (b"a: 1\n" + b"x" * 20_000, 2, "a line of more than 16384 characters"),
        (b"a\n" * 200_001, 200_001, "more than 200000 lines"),
        (b" " * (16 * 1024 * 1024 + 1), 0, "larger than"),
    ],
)
def test_what_is_no_text_is_refused(text: bytes, line: int, problem: str) -> None:
    """One fault, with its line."""
    with pytest.raises(InputError) as caught:
        read_lines(text, "t")
    fault = one_fault(caught.value)
    assert (fault.line, problem in fault.problem) == (line, True)


@pytest.mark.parametrize(
    ("form", "line", "star"),
    [
        ("[*]", "[Account 1]", "Account 1"),
        ("show *", "SHOW network", "network"),
        ("== * ==", "== a ==", "a"),
        ("[*]", "[]", None),
        ("a*a", "a", None),
        ("panel*", "panel/x", "/x"),
        ("whole", "Whole", "Whole"),
        ("*", "anything", "anything"),
    ],
)
def test_a_form_has_one_star(form: str, line: str, star: str | None) -> None:
    """What stands before and after it must be there; the star is never empty."""
    assert match_form(form, line) == star


# --- CSV -----------------------------------------------------------------------------------------


CARDS: Final = setting("/card/name", place="Name") + setting("/services/telnet/enabled", place="Telnet")


def test_each_row_of_csv_is_a_card() -> None:
    """By its own id, with the line on which the row begins; an empty cell says nothing."""
    text = b'\xef\xbb\xbfid;Name;Telnet\r\na;"UPS; of\r\nhall";on\r\n\r\nb;;off\r\n'
    found = apply_map(made("csv", CARDS, 'card_id = "ID"'), text, "cards.csv")
    assert [(one.card_id, one.settings) for one in found] == [
        ("a", {"card": {"name": "UPS; of\r\nhall"}, "services": {"telnet": {"enabled": True}}}),
        ("b", {"services": {"telnet": {"enabled": False}}}),
    ]
    assert str(found[1].origins["/services/telnet/enabled"]) == "cards.csv:5 (Telnet)"


def test_rows_that_are_no_cards_are_all_told() -> None:
    """Without an id, with one that is none, with one that another row has."""
    text = b"id,Name,Telnet\na,x,on\n,y,on\nno id,z,on\na,w,on\n"
    with pytest.raises(InputError) as caught:
        apply_map(made("csv", CARDS, 'card_id = "id"'), text, "cards.csv")
    assert faults_of(caught.value) == [
        (3, "no card id that can be used"),
        (4, "no card id that can be used"),
        (5, "card id a is also that of line 2"),
    ]


@pytest.mark.parametrize(
    ("text", "faults"),
    [
        (b"id,x\na,b,c\n", [(2, "a row of 3 cells; there are 2 columns")]),
        (b"id,x\na,b\n\nd\n", [(4, "a row of 1 cell; there are 2 columns")]),
        (b"id,,id\na,b,c\n", [(1, "column 2 has no name"), (1, "column 3 has the name of column 1")]),
        (b'id,Name\na,"b"c\n', [(2, "text follows a closing quotation mark in this row")]),
        (b'id,Name\na,"b\n', [(2, "a quotation mark in this row is never closed")]),
        (b"id,Name\na,b\x00\n", [(2, "a NUL character")]),
        (b"", [(0, "empty")]),
    ],
)  # fmt: skip
def test_what_is_no_table_is_refused(text: bytes, faults: list[tuple[int, str]]) -> None:
    """Wrong counts, stray quotes, NULs: each fault with its line."""
    with pytest.raises(InputError) as caught:
        read_csv(text, "cards.csv")
    assert faults_of(caught.value) == faults


def test_a_formula_is_no_value() -> None:
    """It is lost and told; what only looks like one, a guarded text, is read."""
    text = b'id,Name,Telnet\na,"=HYPERLINK(""http://x.example"")",on\nb,\'=plain,off\n'
    first, second = apply_map(made("csv", CARDS, 'card_id = "id"'), text, "cards.csv")
    assert whys(first) == ["a formula, not a value: give the value itself"]
    assert second.settings["card"]["name"] == "=plain"
