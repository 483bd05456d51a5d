"""XML from strangers: what is refused, where the fault stands, and what it may cost."""

import socket
from contextlib import suppress
from pathlib import Path
from typing import NoReturn

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree

from auditor.errors import Fault, InputError
from auditor.intake.safe_xml import DEFAULT_XML, XmlLimits, parse_xml
from tests.intake.bound import bounded

MEBIBYTE = 1024 * 1024


def fault_of(text: bytes, limits: XmlLimits = DEFAULT_XML) -> Fault:
    """Return the only fault of a document."""
    with pytest.raises(InputError) as caught:
        parse_xml(text, "export.xml", limits)
    [fault] = caught.value.faults
    assert fault.file == "export.xml"
    assert fault.remedy
    return fault


def place_and_problem(text: bytes, limits: XmlLimits = DEFAULT_XML) -> tuple[int, int, str]:
    """Return line, column and problem of the only fault of a document."""
    fault = fault_of(text, limits)
    return fault.line, fault.column, fault.problem


def line_of(element: etree._Element) -> object:
    """Return the line of an element; the stubs of the library know no type for it."""
    line: object = element.sourceline
    return line


def test_elements_keep_their_lines_and_lose_comments_and_instructions() -> None:
    """The tree holds elements and text only; CDATA is text."""
    root = parse_xml(b"<a>\n<!-- no --><?php no?><b>x<![CDATA[<y>]]></b>\n</a>", "export.xml")
    assert [(child.tag, child.text, line_of(child)) for child in root] == [("b", "x<y>", 2)]


def test_lines_are_right_far_down() -> None:
    """A file of more than 65 535 lines has right lines to its end."""
    root = parse_xml(b"<a>" + b"\n" * 70_000 + b"<b/></a>", "export.xml")
    assert line_of(root[0]) == 70_001


_DOCTYPE = "a document type (DOCTYPE), which can hold entities or point to other files"
_NESTED = b"".join(
    b'<!ENTITY e%d "%s">' % (level, b"&e%d;" % (level - 1) * 10 if level else b"ha" * 10)
    for level in range(10)
)


@pytest.mark.parametrize(
    "text",
    [
        b"<!DOCTYPE a><a/>",
        b'<!DOCTYPE a SYSTEM "file:///etc/hostname"><a/>',
        b'<!DOCTYPE a PUBLIC "-//A//B" "http://192.0.2.1/a.dtd"><a/>',
        b'<!DOCTYPE a [<!ENTITY e "text">]><a>&e;</a>',
        b'<!DOCTYPE a [<!ENTITY e SYSTEM "file:///etc/hostname">]><a>&e;</a>',
        b'<!DOCTYPE a [<!ENTITY % p SYSTEM "http://192.0.2.1/p"> %p;]><a/>',
        b'<!DOCTYPE a [<!ATTLIST a b CDATA "given">]><a/>',
        b"<!DOCTYPE a [" + _NESTED + b"]><a>&e9;</a>",
    ],
    ids=["bare", "file", "network", "internal", "external", "parameter", "attributes", "nested"],
)
def test_a_document_type_is_refused_whatever_is_in_it(text: bytes) -> None:
    """With the document type go entities: internal, external, nested (CWE-611, CWE-776)."""
    with bounded(seconds=5, mebibytes=4):
        assert fault_of(text).problem == _DOCTYPE


def test_an_entity_without_a_document_type_is_refused() -> None:
    """Only the five entities of XML itself are known."""
    assert place_and_problem(b"<a>\n <b>&foo;</b></a>") == (2, 5, "an entity that XML does not define")
    assert parse_xml(b"<a>&lt;&amp;&quot;&apos;&gt;&#65;</a>", "export.xml").text == "<&\"'>A"


def test_nothing_is_fetched_or_included(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """XInclude, schema locations and style sheets stay what they are: names."""
    secret = tmp_path / "secret"
    secret.write_text("never read")

    def refuse(*_: object, **__: object) -> NoReturn:
        raise AssertionError("a connection was opened")

    monkeypatch.setattr(socket, "socket", refuse)
    text = f"""<?xml version="1.0"?><?xml-stylesheet href="http://192.0.2.1/s.xsl"?>
    <a xmlns:xi="http://www.w3.org/2001/XInclude" xmlns:x="http://www.w3.org/2001/XMLSchema-instance"
       x:schemaLocation="u http://192.0.2.1/s.xsd"><xi:include href="file://{secret}" parse="text"/></a>"""
    root = parse_xml(text.encode(), "export.xml")
    assert [child.tag for child in root] == ["{http://www.w3.org/2001/XInclude}include"]
    assert "never read" not in "".join(map(str, root.itertext()))


@pytest.mark.parametrize(
    ("text", "found"),
    [
        (b"", (0, 0, "empty")),
        (b" \n ", (0, 0, "empty")),
        (b"<a>\n <b>xx", (2, 7, "the text ends inside an element")),
        (b"<a>\n <b", (2, 2, "the text ends inside an element")),
        (b"<a><b>x</b>\n", (2, 1, "the text ends inside an element")),
        (b"<a><![CDATA[x", (1, 14, "the text ends inside an element")),
        (b"<a>\n<b></a></b>", (2, 6, "an end tag does not match the open element")),
        (b"<a/>\n<b/>", (2, 1, "more text stands after the end of the document")),
        (b"<a b='' b=''/>", (1, 9, "an attribute stands twice in one element")),
        (b"<a>\n<p:b/></a>", (2, 1, "a prefix without a namespace")),
        (b"<a>\0</a>", (1, 4, "a character that XML does not allow here")),
        (b"<a>&#0;</a>", (1, 4, "a reference to a character that XML does not allow")),
        (b"{}", (1, 1, "a character that XML does not allow here")),
    ],
)
def test_what_is_no_well_formed_xml_is_refused_with_its_place(
    text: bytes, found: tuple[int, int, str]
) -> None:
    """One fault, at the line and column at which reading stopped; cut-off text is told as such."""
    assert place_and_problem(text) == found


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "iso-8859-1", "windows-1252"])
def test_encodings_that_are_named_are_read(encoding: str) -> None:
    """A declaration or a byte order mark decides; both forms give the same text."""
    name = "utf-8" if encoding == "utf-8-sig" else encoding
    text = f"<?xml version='1.0' encoding='{name}'?><a>Grün</a>".encode(encoding)
    assert parse_xml(text, "export.xml").text == "Grün"


@pytest.mark.parametrize(
    ("text", "found"),
    [
        ("<a>\nGrün</a>".encode("latin-1"), (2, 3, "the text is not utf-8")),
        (b"<?xml version='1.0' encoding='utf-8'?><a>\xc3", (1, 42, "the text is not utf-8")),
        (b"<?xml version='1.0' encoding='utf-16'?><a/>", (1, 1, "an encoding that is not read here")),
        (b"<?xml version='1.0' encoding='utf-7'?><a/>", (1, 1, "an encoding that is not read here")),
        ("<a/>".encode("utf-16-le"), (1, 1, "an encoding that is not read here")),
        ("<a/>".encode("utf-32"), (1, 1, "an encoding that is not read here")),
        (
            b"\xef\xbb\xbf<?xml version='1.0' encoding='iso-8859-1'?><a/>",
            (1, 1, "the byte order mark contradicts the declared encoding"),
        ),
    ],
)
def test_a_wrong_encoding_is_refused(text: bytes, found: tuple[int, int, str]) -> None:
    """Nothing is guessed and nothing is replaced."""
    assert place_and_problem(text) == found


SMALL = XmlLimits(size=1000, depth=3, nodes=5, text=10, attributes=2)


@pytest.mark.parametrize(
    ("text", "problem"),
    [
        (b"<a><b><c/></b></a>", ""),
        (b"<a><b><c><d/></c></b></a>", "elements nest deeper than 3 levels"),
        (b"<a><b/><b/><b/><b/></a>", ""),
        (b"<a><b/><b/><b/><b/><b/></a>", "more than 5 elements, attributes and texts"),
        (b"<a><b>1</b><b>2</b><b/></a>", "more than 5 elements, attributes and texts"),
        (b"<a>0123456789</a>", ""),
        (b"<a>01234&#65;<![CDATA[6789]]>X</a>", "a text of more than 10 characters"),
        (b"<a b='0123456789X'/>", "an attribute of more than 10 characters"),
        (b"<a b='' c=''/>", ""),
        (b"<a b='' c='' d=''/>", "more than 2 attributes in one element"),
        (b"<a xmlns:p='u' b='' c=''/>", "more than 2 attributes in one element"),
    ],
)
def test_a_limit_is_kept_to_the_last_step(text: bytes, problem: str) -> None:
    """What just keeps within a limit is read; one more is refused."""
    if problem:
        assert fault_of(text, SMALL).problem == problem
    else:
        assert parse_xml(text, "export.xml", SMALL).tag == "a"


@pytest.mark.parametrize(
    "text",
    [
        b"x" * (17 * MEBIBYTE),
        b"<a>" * 4_000_000,
        b"<a>" + b"x" * (15 * MEBIBYTE) + b"</a>",
        b"<a b='" + b"x" * (15 * MEBIBYTE) + b"'/>",
        b"<a>" + b"<b/>" * 3_000_000,
        b"<a " + b" ".join(b"a%d=''" % n for n in range(400_000)) + b"/>",
        b"<a " + b" ".join(b"xmlns:a%d='u'" % n for n in range(400_000)) + b"/>",
    ],
    ids=["size", "depth", "text", "attribute", "elements", "attributes", "namespaces"],
)
def test_a_large_document_is_refused_at_a_bounded_cost(text: bytes) -> None:
    """No limit is passed before it is noticed: time and memory stay bounded, whatever is too much."""
    with bounded(seconds=30, mebibytes=160):
        assert fault_of(text).problem


@given(st.binary(max_size=200) | st.text("<>/ab='\"&;![]?- \n\0", max_size=60).map(str.encode))
def test_any_bytes_are_read_or_refused(text: bytes) -> None:
    """Nothing but a fault of the document ever comes out."""
    with suppress(InputError):
        assert isinstance(parse_xml(text, "export.xml").tag, str)
