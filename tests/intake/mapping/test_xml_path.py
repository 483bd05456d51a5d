"""The paths of XML places: what is read, what is not, and how long it can take."""

import time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.errors import InputError
from auditor.intake.mapping.place import PlaceError
from auditor.intake.mapping.reading_xml import XmlBlock, read_xml
from auditor.intake.mapping.xml_path import parse_path

TEXT = b"""<r xmlns:p="urn:x" kind="top">
 <a id="1"><b>one</b><b x="y">two</b></a>
 <a id="2"><b>three</b><c><b>four</b></c></a>
 <p:a id="3"><p:b>five</p:b></p:a>
</r>"""


def block(text: bytes = TEXT) -> XmlBlock:
    """Return a document as a block."""
    return read_xml(text, "r.xml", {"p": "urn:x"})


def texts(place: str) -> list[str]:
    """Return the texts at a place of the example."""
    return [found.text for found in block().find(place)]


@pytest.mark.parametrize(
    ("place", "found"),
    [
        ("a/b", ["one", "two", "three", "five"]),
        ("/r/a/b", ["one", "two", "three", "five"]),
        ("p:a/p:b", ["five"]),
        ("a[@id='2']/b", ["three"]),
        ('a[@id = "2"]/b', ["three"]),
        ("a[2]/b", ["three"]),
        ("a/b[2]", ["two"]),
        ("a/b[@x]", ["two"]),
        ("a[b='three']/b", ["three"]),
        ("a/b[.='two']/@x", ["y"]),
        ("a[c]/b", ["three"]),
        ("//b", ["one", "two", "three", "four", "five"]),
        ("a//b", ["one", "two", "three", "four", "five"]),
        ("*/c/b", ["four"]),
        ("a/c/b/../../b", ["three"]),
        ("@kind", ["top"]),
        ("./@kind", ["top"]),
        ("/r/@kind", ["top"]),
        ("/s/a", []),
        ("a/@*", ["1", "2", "3"]),
        ("p:*/@id", ["3"]),
    ],
)
def test_a_path_leads_where_xpath_would(place: str, found: list[str]) -> None:
    """The abbreviated syntax of XPath 1.0, but that a name without prefix is met in any namespace."""
    assert texts(place) == found


@pytest.mark.parametrize(
    "place",
    [
        "count(//a)", "//a[count(//a[count(//a)])]", "document('/etc/passwd')", "a[position()=1]", "a|b",
        "a[b and c]", "string(a)", "re:test(a,'(a+)+$')", "id('x')", "a/", "//", "a[", "a[0]", "@a/b", "$x",
        "a::b", "ancestor::a", "a b", "..//..//", ".[1]", "/", "/..", "/a[1]",
    ],
)  # fmt: skip
def test_functions_and_other_axes_are_refused(place: str) -> None:
    """Nothing that could read a file, run code or count itself to a standstill is read at all."""
    with pytest.raises(PlaceError):
        parse_path(place)


@given(st.text("ab@*/.[]='\"1 ()", max_size=40))
def test_no_text_breaks_the_reading_of_paths(text: str) -> None:
    """Any text is a path that can be walked, or is refused."""
    try:
        parse_path(text)
    except PlaceError:
        return
    assert len(block().find(text)) < 100


def test_a_path_made_to_be_slow_ends() -> None:
    """Steps below steps on a deep and wide tree: refused in seconds, with a word on what to do."""
    text = b"<r>" + (b"<a>" * 60 + b"<b/>" * 20 + b"</a>" * 60) * 400 + b"</r>"
    began = time.process_time()
    with pytest.raises(InputError, match="looks at more than"):
        block(text).find("//a" * 9)
    assert time.process_time() - began < 20


def test_a_place_has_its_line_and_its_number() -> None:
    """The number of an element among its kind, where there is more than one."""
    found = block().find("a/b")
    assert [(one.line, one.at, one.name) for one in found[:3]] == [
        (2, "a[1]/b[1]", "a/b"),
        (2, "a[1]/b[2]", "a/b"),
        (3, "a[2]/b", "a/b"),
    ]
    assert block().find("@kind")[0].at == "@kind"


def test_a_group_is_no_value() -> None:
    """An element that holds others has no text of its own."""
    [found] = block().find("a[2]/c")
    assert (found.text, found.fault) == ("", "a group of settings stands here, not one value")
