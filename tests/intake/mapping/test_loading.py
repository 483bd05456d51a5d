"""Maps are read whole, or refused with every fault at its line."""

import json
import tracemalloc

import pytest

from auditor.errors import InputError
from auditor.intake.mapping.loading import MAP_BYTES, load_map, map_schema
from auditor.record.outline import ANY, leaf_at, outline
from auditor.record.schema import place_at
from tests.intake.mapping.samples import FAMILIES, family_map, faults_of, made, one_fault, setting

HEAD = '[map]\nname = "m"\nfor = "tests"\nsource = "xml"\nmethod = "export"\n'


def refused(text: str | bytes) -> InputError:
    """Return the error with which a map is refused."""
    with pytest.raises(InputError) as caught:
        load_map(text.encode() if isinstance(text, str) else text, "m.toml")
    return caught.value


@pytest.mark.parametrize("family", sorted({family for family, _ in FAMILIES}))
def test_the_maps_of_the_families_load(family: str) -> None:
    """Each with forty settings and more."""
    chosen = family_map(family)
    assert (chosen.name, len(chosen.settings) > 40, len(chosen.lists) > 5) == (family, True, True)


@pytest.mark.parametrize(
    ("body", "line", "problem", "remedy"),
    [
        (
            setting("/services/telnet/enable"),
            7,
            "the record has no setting /services/telnet/enable",
            "Did you mean /services/telnet/enabled?",
        ),
        (
            setting("/accounts/0/name"),
            7,
            "this stands in the list /accounts",
            "Write it as [[list]] with [[list.setting]].",
        ),
        (setting("/accounts"), 7, "this is a list of members", "Write it as [[list]]."),
        (setting("services"), 7, "not a JSON Pointer", "Write it as /services/telnet/enabled."),
        (setting("/card/id"), 7, "this setting is not mapped", "Write card_id in [map] instead."),
        (
            setting("/services/telnet/enabled", 'as = "number"'),
            9,
            "number does not give what belongs here: yes or no",
            "Known: truth, word.",
        ),
        (
            setting("/services/telnet/enabled", 'unit = "s"'),
            9,
            "unit means nothing for a setting taken as truth",
            "Remove it.",
        ),
        (
            setting("/time/poll_interval_s", 'unit = "minuts"'),
            9,
            "no unit that is known",
            "Did you mean minutes?",
        ),
        (setting("/time/poll_interval_s", 'form = "hhmm"'), 9, "no form of a clock", "Did you mean hh:mm?"),
        (setting("/mail/password", 'form = "crypto"'), 9, "no form of a secret", "Did you mean crypt?"),
        (
            setting("/card/firmware_date", 'form = "DD.MM"'),
            9,
            "year, month or day is missing in the form of a date",
            "Write it as YYYY-MM-DD hh:mm:ss, or unix.",
        ),
        (
            setting("/equipment/kind", 'words = { "USV" = "upss" }'),
            9,
            "the setting has no value 'upss'",
            "Did you mean ups?",
        ),
        (
            '[[setting]]\nto = "/equipment/kind"\nvalue = "upss"\n',
            8,
            "expected one of ups, pdu, transfer_switch, probe_hub, other",
            "Allowed: ups, pdu, transfer_switch, probe_hub, other.",
        ),
        (
            '[[setting]]\nto = "/equipment/kind"\n',
            6,
            "a setting has either from or value",
            "Write where it stands, or a fixed value.",
        ),
        (
            '[[setting]]\nto = "/mail/password"\nvalue = "hunter"\n',
            8,
            "no secret and no sources can be fixed in a map",
            "Remove it.",
        ),
        (
            setting("/card/name") + setting("/card/name", place="y"),
            10,
            "a second setting for /card/name",
            "Keep one, and write both places in its from.",
        ),
        (setting("/card/name", place="a//"), 8, "not a path that is read here", "Write names with / between"),
        (
            setting("/card/name", place="p:a"),
            8,
            "the prefix p is not among the namespaces",
            "None is known here: remove it.",
        ),
        (
            '[[list]]\nto = "/accounts"\neach = "x"\n',
            6,
            "a list without settings",
            "Add [[list.setting]] with to and from.",
        ),
        (
            '[[list]]\nto = "/card"\neach = "x"\n',
            7,
            "the record has no list /card",
            "Known, among",
        ),
        (
            '[[list]]\nto = "/accounts"\nneeds = "/nam"\n[[list.setting]]\nto = "/name"\nfrom = "n"\n',
            8,
            "this list has no setting /nam",
            "Did you mean /name?",
        ),
        (
            setting("/tls/certificate/pem") + setting("/tls/certificate/key_bits", place="y"),
            6,
            "/tls/certificate/pem can't stand beside /tls/certificate/key_bits",
            "Keep the PEM text: its facts are read from it.",
        ),
    ],
)
def test_a_fault_has_its_line_and_says_what_to_do(body: str, line: int, problem: str, remedy: str) -> None:
    """Each is found when the map is read, not when a card is."""
    fault = one_fault(refused(HEAD + body))
    assert (fault.file, fault.line, fault.problem) == ("m.toml", line, problem)
    assert fault.remedy.startswith(remedy)


def test_all_faults_are_told_together_in_file_order() -> None:
    """The author mends the map once."""
    body = setting("/card/nam") + setting("/card/sit") + setting("/card/contact", 'unit = "s"')
    assert [line for line, _ in faults_of(refused(HEAD + body))] == [7, 10, 15]


@pytest.mark.parametrize(
    ("text", "line", "problem"),
    [
        ("[map\n", 1, "not TOML"),
        (b'[map]\nname = "\xff"', 2, "the text is not UTF-8"),
        ("", 1, "this member is missing"),
        (HEAD.replace("xml", "yaml"), 4, "expected one of xml, json, text, csv"),
        (HEAD + "[extra]\nx = 1\n", 6, "no such member"),
        (HEAD + setting("/card/name", "offset = 2026-11-25"), 9, "expected text"),
        (HEAD + setting("/card/name", "regex = '(a+)+$'"), 9, "no such member"),
        (HEAD + '[layout]\nseparator = "="\n', 6, "a source of kind xml has no layout"),
        (HEAD.replace("xml", "json") + '[namespaces]\np = "urn:x"\n', 6, "only XML has namespaces"),
        (HEAD + '[[setting]]\nto = "/time/utc_offset_min"\nvalue = nan\n', 8, "no number"),
        ("x = " + "[" * 50_000, 1, "too deep"),
    ],
)
def test_what_is_no_map_is_refused(text: str | bytes, line: int, problem: str) -> None:
    """TOML that is none, shapes that are none, and options that a map does not have."""
    fault = refused(text).faults[0]
    assert (fault.line, problem in fault.problem) == (line, True), str(fault)


def test_a_huge_map_is_refused_unread() -> None:
    """A map is a few kilobytes; what is not read costs nothing."""
    text = b"#" * (MAP_BYTES + 1)
    tracemalloc.start()
    fault = one_fault(refused(text))
    _, peak = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert (fault.problem, peak < 100_000) == ("larger than 1024 KiB, the most for a map", True)


def test_the_schema_of_maps_offers_what_the_record_has() -> None:
    """Its methods are those of a record."""
    methods = map_schema()["properties"]["map"]["properties"]["method"]["enum"]
    place = place_at(("capture", "method"))
    assert place is not None
    assert tuple(methods) == place.values


def test_every_setting_of_the_record_can_be_mapped() -> None:
    """Whatever the schema has outside lists, a map without options can name, but for what imports write."""
    written = {("card", "id"), ("capture", "method"), ("capture", "source_digest"), ("unmapped",)}
    written.add(("tls", "certificate", "pem"))  # stands alone: see above
    leaves = [leaf for leaf in outline() if leaf.tokens not in written and leaf.kind != "members"]
    body = "".join(setting("/" + "/".join(leaf.tokens)) for leaf in leaves if ANY not in leaf.tokens)
    chosen = made("text", body)
    assert len(chosen.settings) == sum(ANY not in leaf.tokens for leaf in leaves)
    assert all(leaf_at(tuple(one.to[1:].split("/"))) is not None for one in chosen.settings)


def test_words_are_quoted_as_they_are() -> None:
    """A table of words survives odd keys."""
    words = json.dumps('a = "b" # c')
    chosen = made("text", setting("/equipment/kind", f'words = {{ {words} = "ups" }}'))
    assert chosen.settings[0].conversion.words == {'a = "b" # c': "ups"}
