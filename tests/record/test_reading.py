"""Bytes to a record: what is accepted, and every fault of what is refused, with its place."""

import hashlib
import json

import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.errors import Fault, RecordError
from auditor.record.clear import Clear
from auditor.record.limits import Limits
from auditor.record.mask import holds_masked, is_masked
from auditor.record.pointer import split, value_at
from auditor.record.reading import raw_settings, read_record
from auditor.record.refusal import MOST_FAULTS
from tests.record.mutations import COMPLIANT, compliant

HEAD = b'{"schema": "witnessmark/card-1", "card": {"id": "ups-07"}'
MASKS = [
    "*",
    "********",
    "••••",
    "●●●",
    "\N{FULLWIDTH ASTERISK}",
    "<hidden>",
    "<Not Shown>",
    "***masked***",
    "[redacted]",
]
NO_MASKS = ["x", "xxxxxxxx", "hidden", "p*ss", "a<hidden>", "<hidden", "", "** **", "•x•"]


def faults_of(text: bytes, limits: Limits | None = None, first_line: int = 1) -> tuple[Fault, ...]:
    """Return the faults of a text that must be refused."""
    with pytest.raises(RecordError) as caught:
        read_record(text, "card.json", limits or Limits(), first_line=first_line)
    return caught.value.faults


def told(text: bytes, limits: Limits | None = None) -> list[tuple[str, int, int, str]]:
    """Return pointer, line, column and problem of every fault."""
    return [(f.pointer, f.line, f.column, f.problem) for f in faults_of(text, limits)]


def test_the_compliant_card_is_read() -> None:
    """The record holds what the JSON says, where it stood, and the digest of its bytes."""
    text = COMPLIANT.read_bytes()
    record = read_record(text, "a/card.json", first_line=7)
    assert raw_settings(record) == json.loads(text)
    assert (record.file, record.line, record.card_id) == ("a/card.json", 7, record.settings["card"]["id"])
    assert record.digest == hashlib.sha256(text).hexdigest()


def test_a_record_does_not_show_its_secrets() -> None:
    """The repr of a record, which an exception may print, holds no settings; nor do its settings."""
    text = HEAD + b', "accounts": [{"name": "a", "password": {"clear": "s3cr3t"}}]}'
    record = read_record(text, "card.json")
    assert "s3cr3t" not in f"{record!r} {record.settings} {record.text} {record.secrets}"


@pytest.mark.parametrize(
    ("secret", "expected", "clear"),
    [
        ('{"clear": "\\u0061b"}', {"clear": Clear("ab")}, True),
        ('{"crypt": "$0$ab"}', {"clear": Clear("ab")}, True),
        ('{"crypt": "$0$"}', {"empty": True}, False),
        ('{"crypt": "$6$salt$hash"}', {"crypt": "$6$salt$hash"}, False),
        ('{"sealed": {"length": 8}}', {"sealed": {"length": 8}}, False),
        ('{"empty": true}', {"empty": True}, False),
    ],
)
def test_a_clear_secret_exists_inside_its_type_only(secret: str, expected: object, clear: bool) -> None:
    """A clear secret is wrapped, one in a crypt text that says so too; the others stand as they are.

    ``$0$`` marks clear text: RFC 7317, module iana-crypt-hash.
    """
    record = read_record(HEAD + f', "mail": {{"password": {secret}}}}}'.encode(), "card.json")
    assert (record.settings["mail"]["password"], record.holds_clear) == (expected, clear)
    assert raw_settings(record)["mail"]["password"] == json.loads(secret)


@pytest.mark.parametrize(
    "text",
    [
        b"\xef\xbb\xbf" + HEAD + b"}",
        HEAD + b', "site_notes": "a \\u003a b: c"}',
        HEAD + b', "site_notes": "\\\\u003a"}',
        HEAD + b', "site_notes": "\\ud83d\\ude00"}\r\n\t ',
        b'{"schem\\u0061": "witnessmark\\/card-1", "card": {"id": "a:b"}}',
    ],
)
def test_other_ways_to_write_a_record_are_read(text: bytes) -> None:
    """A byte order mark, escapes, and blanks around make no difference to what is read."""
    expected = json.loads(text.removeprefix(b"\xef\xbb\xbf"))
    assert read_record(text, "card.json").settings == expected


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        (b"", ("", 1, 1, "empty")),
        (b"\xef\xbb\xbf \n", ("", 1, 1, "empty")),
        (b"[1]", ("", 1, 1, "expected an object; found a list")),
        (b"7", ("", 1, 1, "expected an object; found something else")),
        (b"null", ("", 1, 1, "expected an object; found something else")),
        (b'{"a": 1,\n "b"', ("", 2, 5, "a colon is missing after the name")),
        (b'{"a": 1,\n "b":', ("", 2, 6, "the text ends inside the object that begins on line 1")),
        (HEAD + b', "equipment": {"runtime_min": NaN}}', ("", 1, 89, "NaN and Infinity are no JSON numbers")),
        (HEAD + b', "equipment": {"runtime_min": 1e999}}', ("", 1, 89, "a number beyond all limits")),
        (HEAD + b', "site_notes": "\\ud800"}', ("", 1, 75, "half of a surrogate pair is no character")),
        (HEAD + b', "site_notes": "\xff"}', ("", 1, 75, "the text is not UTF-8")),
        (HEAD + b', "site_notes": null}', ("/site_notes", 1, 74, "null is refused")),
        (HEAD + b', "telnet": {}}', ("/telnet", 1, 70, "no such member")),
        (
            HEAD + b', "equipment": {"runtime_min": -1}}',
            ("/equipment/runtime_min", 1, 89, "expected a number, 0 to 100000; found -1"),
        ),
    ],
)
def test_a_faulty_record_is_refused(text: bytes, expected: tuple[str, int, int, str]) -> None:
    """Each kind of fault is told with pointer, line and column, alone if it is alone."""
    assert told(text) == [expected]


def test_all_faults_are_told_in_file_order() -> None:
    """Unknown, missing, doubled, masked and wrong members of one record come together, by place."""
    text = (
        b'{\n "schema": "witnessmark/card-1",\n "accounts": [\n'
        b'  {"password": {"clear": "****"}, "enabled": 1},\n'
        b'  {"name": "b", "nmae": "c", "name": "d"}\n ],\n "card": {"id": null}\n}'
    )
    assert told(text) == [
        ("/accounts/0/name", 4, 3, "this member is missing"),
        ("/accounts/0/password/clear", 4, 26, "a masked value is not a secret"),
        ("/accounts/0/enabled", 4, 46, "expected true or false; found a number"),
        ("/accounts/1/nmae", 5, 25, "no such member"),
        ("/accounts/1/name", 5, 30, "this member stands twice, first at line 5, column 4"),
        ("/card/id", 7, 17, "null is refused"),
    ]


def test_lines_count_from_the_first_line_of_the_record() -> None:
    """A record on line 40 of its file has its faults on line 40 and later."""
    assert [fault.line for fault in faults_of(b'{"schema": 1,\n "card": 2}', first_line=40)] == [40, 41]


@pytest.mark.parametrize(
    "text",
    [
        HEAD + b', "schema": "witnessmark/card-1"}',
        HEAD + b', "sch\\u0065ma": "witnessmark/card-1"}',
        HEAD + b', "site_notes": "a:b", "site_notes": "a\\u003ab:c"}',
        HEAD + b', "site_notes": "x", "site_notes": "\\u003a"}',
        HEAD + b', "site_notes": "x", "site_notes": "\\u003A"}',
    ],
)
def test_a_doubled_member_is_refused_however_it_is_written(text: bytes) -> None:
    """Escaped names are the same names, and an escaped colon does not hide a dropped member."""
    assert [fault.problem.split(",")[0] for fault in faults_of(text)] == ["this member stands twice"]


NAMES = st.sampled_from(['"site_notes"', '"sit\\u0065_notes"', '"unmapped"'])
NOTES = st.sampled_from(['"a"', '":"', '"\\u003a"', '"\\\\u003a"', '"a:\\"b\\":c"', '["x:y"]', "[]"])


@settings(deadline=None)
@given(st.lists(st.tuples(NAMES, NOTES), max_size=4))
def test_doubled_members_are_found_exactly(members: list[tuple[str, str]]) -> None:
    """A member is called doubled exactly if the parser of the standard library meets it twice."""
    parts = "".join(f", {name}: {value}" for name, value in members)
    text = HEAD.decode() + parts + "}"
    pairs = json.loads(text, object_pairs_hook=list)
    names = [name for name, _ in pairs]
    try:
        read_record(text.encode(), "card.json")
        problems = []
    except RecordError as error:
        problems = [fault.problem for fault in error.faults if "stands twice, " in fault.problem]
    assert len(problems) == len(names) - len(set(names))


@pytest.mark.parametrize("mask", MASKS)
def test_a_masked_value_is_no_secret(mask: str) -> None:
    """What a page shows in the place of a secret is refused, and the remedy is to leave it out."""
    card = compliant()
    card["accounts"][0]["password"] = {"clear": mask}
    [fault] = faults_of(orjson.dumps(card))
    assert (fault.pointer, fault.problem) == ("/accounts/0/password/clear", "a masked value is not a secret")
    assert fault.remedy == "Leave the member out: it is unknown."


@pytest.mark.parametrize(("value", "masked"), [(m, True) for m in MASKS] + [(m, False) for m in NO_MASKS])
def test_masks_are_told_from_secrets(value: str, *, masked: bool) -> None:
    """The check of a value and the check of written JSON agree, and real secrets pass."""
    assert is_masked(value) is masked
    assert holds_masked([("password", {"clear": value})]) is masked


def test_a_mask_in_another_text_is_no_fault() -> None:
    """A note that quotes a masked secret is only a note."""
    text = HEAD + b', "site_notes": "\\"clear\\":\\"****\\""}'
    assert read_record(text, "card.json").card_id == "ups-07"


def test_a_record_as_large_as_allowed_is_read_and_one_byte_more_is_not() -> None:
    """The limit of size is exact."""
    text = HEAD + b"}"
    assert read_record(text, "card.json", Limits(record_bytes=len(text))).card_id == "ups-07"
    assert told(text, Limits(record_bytes=len(text) - 1)) == [
        ("", 1, 0, f"larger than {len(text) - 1} bytes, the most for one record")
    ]


def test_the_default_limit_of_size_is_16_mebibytes() -> None:
    """A record of more than 16 MiB is refused by its size, in words a person uses."""
    [fault] = faults_of(b" " * (16 * 1024 * 1024 + 1))
    assert fault.problem == "larger than 16 MiB, the most for one record"


@pytest.mark.parametrize("depth", [64, 3])
def test_a_record_too_deep_is_refused(depth: int) -> None:
    """The first bracket beyond the limit is named; the default is 64."""
    text = b'{"a":' * 100_000 + b"1" + b"}" * 100_000
    limits = Limits(depth=depth)
    assert told(text, limits) == [
        ("/a" * depth, 1, 5 * depth + 1, f"brackets nest deeper than {depth} levels"),
    ]


def test_a_tighter_limit_of_depth_binds_a_valid_record() -> None:
    """A limit below what the schema allows is kept as well."""
    text = HEAD + b', "accounts": [{"name": "a", "password": {"empty": true}}]}'
    assert read_record(text, "card.json", Limits(depth=4)).card_id == "ups-07"
    assert told(text, Limits(depth=3))[0][3] == "brackets nest deeper than 3 levels"


def test_a_list_too_long_is_refused() -> None:
    """A list of more than 10 000 items is one fault, not one for each item, and others are told too."""
    text = HEAD + b', "unmapped": [' + b",".join([b'"x"'] * 10_001) + b'], "x": 1}'
    assert [fault[::3] for fault in told(text)] == [
        ("/unmapped", "a list of 10001 items; at most 10000 are allowed"),
        ("/x", "no such member"),
    ]


def test_a_tighter_limit_of_items_binds_a_valid_record() -> None:
    """A limit below what the schema allows is kept as well."""
    text = HEAD + b', "unmapped": ["x", "y"]}'
    assert read_record(text, "card.json", Limits(items=2)).card_id == "ups-07"
    assert told(text, Limits(items=1))[0][3] == "a list of 2 items; at most 1 are allowed"


def test_endless_faults_are_cut_short() -> None:
    """A record of nothing but faults lists a bounded number, and says that there are more."""
    text = HEAD + b', "unmapped": [' + b",".join([b"1"] * 5000) + b"]}"
    faults = faults_of(text)
    assert len(faults) == MOST_FAULTS + 1
    assert faults[-1].problem == f"more than {MOST_FAULTS} faults"


@settings(deadline=None, max_examples=50)
@given(st.sampled_from([None, 1, 2]), st.data())
def test_a_fault_points_at_what_it_is_about(indent: int | None, data: st.DataObject) -> None:
    """The text at line and column of a fault is the value at its pointer."""
    card = compliant()
    section = data.draw(st.sampled_from(sorted(set(card) - {"schema"})))
    card[section] = 123456789
    text = json.dumps(card, indent=indent)
    [fault] = faults_of(text.encode())
    assert text.split("\n")[fault.line - 1][fault.column - 1 :].startswith("123456789")
    assert value_at(card, split(fault.pointer)) == 123456789
