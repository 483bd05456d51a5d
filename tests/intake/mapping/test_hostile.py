"""Hostile sources and maps: one clear error, or a result, in bounded time and memory."""

import time
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Final

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.errors import InputError
from auditor.intake.mapping.applying import apply_map
from auditor.intake.mapping.checking import check_map
from auditor.intake.mapping.language import Map
from tests.intake.mapping.samples import imported, made, one_fault, setting, whys

SECONDS: Final = 60
"""More than ten times what the slowest takes here, since other work may share the machine."""

BYTES: Final = 400 * 1024 * 1024
"""Memory that Python may take at most at any moment."""


@contextmanager
def bounded() -> Iterator[None]:
    """Fail if what is inside takes too long or too much memory."""
    began = time.process_time()
    tracemalloc.start()
    try:
        yield
        _, peak = tracemalloc.get_traced_memory()
    finally:
        tracemalloc.stop()
    assert (time.process_time() - began < SECONDS, peak < BYTES) == (True, True)


NAME: Final = setting("/card/name")
XML: Final = made("xml", NAME)
JSON: Final = made("json", setting("/card/name", place="/x"))
TEXT: Final = made("text", NAME)
CSV: Final = made("csv", NAME, 'card_id = "id"')


def _entities() -> bytes:
    rows = "".join(f'<!ENTITY e{n} "{f"&e{n - 1};" * 10}">' for n in range(1, 12))
    return f'<?xml version="1.0"?><!DOCTYPE r [<!ENTITY e0 "x">{rows}]><r><x>&e11;</x></r>'.encode()


REFUSED: Final[tuple[tuple[str, Map, Callable[[], bytes], str], ...]] = (
    ("nested entities", XML, _entities, "a document type"),
    (
        "an external entity", XML,
        lambda: b'<!DOCTYPE r [<!ENTITY f SYSTEM "file:///etc/hostname">]><r><x>&f;</x></r>',
        "a document type",
    ),
    ("deep XML", XML, lambda: b"<r>" + b"<a>" * 100_000 + b"</a>" * 100_000 + b"</r>", "deeper than 64"),
    ("too many elements", XML, lambda: b"<r>" + b"<a/>" * 250_000 + b"</r>", "more than 200000"),
    ("XML cut off", XML, lambda: b"<r><x>a</x>", "the text ends"),
    ("XML in no known encoding", XML, lambda: b'<?xml version="1.0" encoding="ebcdic-x"?><r/>', "encoding"),
    ("a huge XML", XML, lambda: b"<r>" + b" " * (17 * 1024 * 1024) + b"</r>", "larger than 16 MiB"),
    ("deep JSON", JSON, lambda: b'{"x":' * 100_000 + b"1" + b"}" * 100_000, "deeper than 64"),
    ("JSON cut off", JSON, lambda: b'{"x": "a', "the text ends"),
    ("a member twice", JSON, lambda: b'{"x": "a", "x": "b"}', "this member stands twice"),
    ("too many values", JSON, lambda: b"[" + b"1," * 300_000 + b"1]", "more than 200000 values"),
    ("a huge JSON", JSON, lambda: b" " * (17 * 1024 * 1024), "larger than 16 MiB"),
    ("JSON in UTF-16", JSON, lambda: '{"x": "a"}'.encode("utf-16"), "UTF-16"),
    ("a long line", TEXT, lambda: b"x: " + b"a" * 10_000_000, "a line of more than"),
    ("endless lines", TEXT, lambda: b"x: a\n" * 1_000_000, "more than 200000 lines"),
    ("a NUL in text", TEXT, lambda: b"x: a\x00", "a NUL character"),
    ("a huge CSV", CSV, lambda: b"id,x\n" + b"a,b\n" * 1_500_000, "larger than 4 MiB"),
    ("too many rows", CSV, lambda: b"id,x\n" + b"a,b\n" * 30_000, "more than 20000 rows"),
    ("too many columns", CSV, lambda: b"a," * 5_000 + b"b\n", "more than 2000 columns"),
    ("a quote never closed", CSV, lambda: b'id,x\na,"' + b"b,c\n" * 20_000, "never closed"),
)  # fmt: skip


@pytest.mark.parametrize(
    ("chosen", "make", "problem"), [one[1:] for one in REFUSED], ids=[one[0] for one in REFUSED]
)
def test_a_hostile_source_is_one_clear_fault(chosen: Map, make: Callable[[], bytes], problem: str) -> None:
    """With the file, at once, and with nothing of the source in the way of memory."""
    text = make()
    with bounded(), pytest.raises(InputError) as caught:
        apply_map(chosen, text, "source.x")
    fault = one_fault(caught.value)
    assert (fault.file, problem in fault.problem) == ("source.x", True), str(fault)


def test_a_row_of_every_size_has_its_own_fault() -> None:
    """Wrong counts are told row by row, the first hundred of them."""
    with bounded(), pytest.raises(InputError) as caught:
        apply_map(CSV, b"id,x\n" + b"a\n" * 5_000, "cards.csv")
    assert len(caught.value.faults) == 100


def test_wide_rows_of_small_cells_stay_within_memory() -> None:
    """More than a mebibyte of the smallest cells there are."""
    header = ",".join(["id", *(f"c{n}" for n in range(1_999))])
    row = ",".join(["{}", *("x" * 1_999)])
    text = "\n".join([header, *(row.replace("{}", f"card-{n}") for n in range(300))]).encode()
    with bounded():
        assert len(apply_map(CSV, text, "cards.csv")) == 300


MANY: Final = 60_000


@pytest.mark.parametrize(
    ("layout", "line"),
    [
        ("sections = ['[*]']\nblocks = ['- *']", "[a]\n- b\nx: 1\n"),
        ("blocks = ['- *']", "- u\nx: 1\n"),
        ("answers = '[]'\nasides = '()'", "x ((((((((((((( [[[[[[[[[[[ : ]]]]]]]]]]\n"),
        ("separator = '='", "\x1b[" + ";" * 50 + "x = 1\n"),
    ],
)
def test_many_sections_and_blocks_take_time_in_proportion(layout: str, line: str) -> None:
    """Repeated blocks of every kind, tens of thousands of them."""
    lists = (("/accounts", "u*", "/name"), ("/snmp/users", "x", "/name"), ("/log/collectors", "x#", "/host"))
    body = "".join(
        f'[[list]]\nto = "{to}"\neach = "{each}"\n[[list.setting]]\nto = "{name}"\nfrom = "x"\n'
        for to, each, name in lists
    )
    with bounded():
        found = imported(made("text", body, f"[layout]\n{layout}"), line * (MANY // line.count("\n")))
    assert len(found.settings.get("accounts", [])) <= 10_000


def test_a_text_of_overwritten_lines_is_read_in_proportion() -> None:
    """Carriage returns and backspaces without end."""
    with bounded():
        assert imported(TEXT, ("\b" * 8_000 + "\r" * 8_000 + "\n") * 400 + "x: a\n").settings == {
            "card": {"name": "a"}
        }


def test_wildcards_in_wildcards_end() -> None:
    """Every item of every item, for every member: refused, with a word on what to do."""
    body = '[[list]]\nto = "/accounts"\neach = "/*"\n[[list.setting]]\nto = "/name"\nfrom = "/*/*/*"\n'
    text = b"[" + b",".join([b"[[[1,2],[3,4]],[[5,6],[7,8]]]"] * 3_000) + b"]"
    with bounded():
        found = imported(made("json", body), text)
    assert set(whys(found)) == {"told 8 times, and differently", "a block of which no setting could be taken"}
    outer = made("json", body.replace('each = "/*"', 'each = "/*/*/*/*"').replace('"/*/*/*"', '"/*"'))
    with bounded():
        assert imported(outer, text).settings == {}


def test_conversions_of_long_texts_end_at_once() -> None:
    """Digits, addresses, dates and words that almost fit, up to the last sign."""
    body = "".join(
        setting(to, *options, place="/x")
        for to, options in (
            ("/time/poll_interval_s", ()),
            ("/network/allowed_sources", ()),
            ("/network/dns_servers", ()),
            ("/card/firmware_date", ('form = "*a*DD MON YYYY"',)),
            ("/card/mac_address", ()),
            ("/capture/taken_at", ()),
            ("/tls/versions", ()),
            ("/services/ssh/enabled", ()),
        )
    )
    for part in ("1", "1 ", "1,", "a", "1.1.1.1,", "1h", ":", "0-", "é", " "):
        text = '{"x": "' + part * (120_000 // len(part)) + '!"}'
        with bounded():
            assert imported(made("json", body), text).origins == {}


@settings(max_examples=150, deadline=None)
@given(st.binary(max_size=200), st.sampled_from([XML, JSON, TEXT, CSV]))
def test_no_bytes_give_anything_but_a_result_or_a_fault(text: bytes, chosen: Map) -> None:
    """Whatever the bytes are, and whatever they were said to be."""
    try:
        report = check_map(chosen, text, "source.x")
    except InputError as error:
        assert all(fault.file == "source.x" for fault in error.faults)  # noqa: PT017 - one of two right ends
        return
    assert report.map_name == "m"


def test_a_place_that_reads_files_is_no_place() -> None:
    """A map names nothing outside its source: paths of files are labels, names or faults like any other."""
    for place in ("document('x')", "file:///etc/hostname"):
        with pytest.raises(InputError):
            made("xml", setting("/card/name", place=place))
    assert imported(made("text", setting("/card/name", place="/etc/hostname")), "x: 1").settings == {}
