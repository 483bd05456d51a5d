"""Bytes → an XML tree, refusing what could cost or reach more than a file of settings should.

Reads nothing but the bytes: no document type, no entity, no inclusion, no network. Two passes:
a small streaming parser judges, and only what it passed is built into a tree.
"""

import re
from typing import TYPE_CHECKING, NoReturn
from xml.parsers import expat

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError

if TYPE_CHECKING:
    from lxml import etree

_MEBIBYTE = 1024 * 1024


@dataclass(frozen=True, slots=True)
class XmlLimits:
    """Bytes of the whole, levels of elements, nodes, characters of one text, attributes of one element.

    A node is an element, an attribute, a declaration of a namespace or a piece of text. The
    figures are our own: an export of one card is well below a megabyte, and the longest value
    in it is a chain of certificates.
    """

    size: int = 16 * _MEBIBYTE
    depth: int = 64
    nodes: int = 1_000_000
    text: int = _MEBIBYTE
    attributes: int = 256


DEFAULT_XML = XmlLimits()


def parse_xml(text: bytes, file: str, limits: XmlLimits = DEFAULT_XML) -> "etree._Element":
    """Return the root element of an XML document, without comments and processing instructions.

    Raises:
        InputError: with one fault: no well-formed XML, cut off, in a wrong or unknown encoding,
            with a document type, an entity of its own, or beyond a limit.

    Source: XML 1.0 (fifth edition); the entity attacks are those of CWE-611 and CWE-776.
    """
    if len(text) > limits.size:
        problem = f"larger than {limits.size // _MEBIBYTE} MiB, the most for one source"
        _refuse(file, (0, 0), problem, remedy=_ONE_CARD)
    if not text.strip(_BLANK):
        _refuse(file, (0, 0), "empty", remedy="Export it again.")
    document = _decoded(text, file).encode()
    _Judge(file, limits).judge(document)
    return _tree(document, file)


def _refuse(file: str, place: tuple[int, int], problem: str, *, remedy: str) -> NoReturn:
    raise InputError([Fault(file, "", *place, problem, remedy)])


def _tree(document: bytes, file: str) -> "etree._Element":
    from lxml import etree

    parser = etree.XMLParser(
        encoding="utf-8",
        resolve_entities=False,
        no_network=True,
        load_dtd=False,
        huge_tree=False,
        remove_comments=True,
        remove_pis=True,
    )
    try:
        return etree.fromstring(document, parser)
    except etree.XMLSyntaxError as error:
        line, column = error.position
        fault = Fault(file, "", line, max(column, 0), _NOT_XML, _EXPORT_AGAIN)
        raise InputError([fault]) from error


_BLANK = b" \t\r\n"
_ONE_CARD = "Check that this is the export of one card."
_NOT_XML = "no well-formed XML"
_EXPORT_AGAIN = "Export it again, and do not edit it by hand."
_SAVE_AS_UTF8 = "Save the file as UTF-8, and let its first line say so."

_MARKS = (
    (b"\xef\xbb\xbf", "utf-8"),
    (b"\xff\xfe\x00\x00", ""),
    (b"\xff\xfe", "utf-16"),
    (b"\xfe\xff", "utf-16"),
)
_ENCODINGS = {
    "utf-8": "utf-8",
    "utf8": "utf-8",
    "us-ascii": "ascii",
    "ascii": "ascii",
    "iso-8859-1": "latin-1",
    "iso-8859-15": "iso-8859-15",
    "windows-1252": "cp1252",
    "utf-16": "utf-16",
}
_DECLARATION = re.compile(r"<\?xml\s[^>]{0,200}?\bencoding\s*=\s*[\"']([A-Za-z0-9._-]{1,40})[\"']")
_LONGEST_DECLARATION = 1024


def _decoded(text: bytes, file: str) -> str:
    """Return the document as text: by its byte order mark, else as declared, else as UTF-8."""
    marked = next((encoding for mark, encoding in _MARKS if text.startswith(mark)), None)
    declared = _declared(text, marked)
    encoding = _ENCODINGS.get(declared or marked or "utf-8")
    if marked == "" or encoding is None or (marked is None and encoding == "utf-16"):
        _refuse(file, (1, 1), "an encoding that is not read here", remedy=_SAVE_AS_UTF8)
    if marked and encoding != marked:
        _refuse(file, (1, 1), "the byte order mark contradicts the declared encoding", remedy=_SAVE_AS_UTF8)
    try:
        return text.decode(encoding).removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        before = text[: error.start].decode(encoding, "ignore")
        place = before.count("\n") + 1, len(before) - before.rfind("\n")
        fault = Fault(file, "", *place, f"the text is not {declared or encoding}", _SAVE_AS_UTF8)
        raise InputError([fault]) from error


def _declared(text: bytes, marked: str | None) -> str:
    start = text[:_LONGEST_DECLARATION]
    if not marked and start[:2] in (b"<\x00", b"\x00<"):
        return "utf-16"
    found = _DECLARATION.match(start.decode(marked or "latin-1", "ignore").removeprefix("\ufeff"))
    return found[1].lower() if found else ""


class _Judge:
    """One streaming pass that refuses; keeps counts, and nothing of what it reads."""

    def __init__(self, file: str, limits: XmlLimits) -> None:
        self._file, self._limits = file, limits
        self._depth = self._nodes = self._text = self._declarations = 0
        self._parser = expat.ParserCreate("utf-8", " ")
        self._parser.buffer_text = True
        self._parser.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
        self._parser.StartDoctypeDeclHandler = self._doctype
        self._parser.StartNamespaceDeclHandler = self._declaration
        self._parser.StartElementHandler = self._start
        self._parser.EndElementHandler = self._end
        self._parser.CharacterDataHandler = self._characters

    def judge(self, document: bytes) -> None:
        """Read a document in UTF-8 through.

        Raises:
            InputError: with one fault, if it is not to be used.
        """
        try:
            self._parser.Parse(document, True)  # noqa: FBT003 - the parser takes no keyword
        except expat.ExpatError as error:
            problem, remedy = _words(error, at_end=self._parser.ErrorByteIndex >= len(document.rstrip()))
            fault = Fault(self._file, "", error.lineno, error.offset + 1, problem, remedy)
            raise InputError([fault]) from error

    def _doctype(self, *_: object) -> None:
        self._refuse(
            "a document type (DOCTYPE), which can hold entities or point to other files",
            "Remove the declaration: settings need none.",
        )

    def _declaration(self, *_: object) -> None:
        self._declarations += 1
        self._count_attributes(self._declarations)

    def _start(self, _name: str, attributes: dict[str, str]) -> None:
        self._depth += 1
        self._nodes += 1 + len(attributes) + self._declarations
        self._count_attributes(self._declarations + len(attributes))
        self._declarations = self._text = 0
        if self._depth > self._limits.depth:
            self._refuse(f"elements nest deeper than {self._limits.depth} levels", _ONE_CARD)
        if any(len(value) > self._limits.text for value in attributes.values()):
            self._refuse(f"an attribute of more than {self._limits.text} characters", _ONE_CARD)
        self._count_nodes()

    def _end(self, _name: str) -> None:
        self._depth -= 1
        self._text = 0

    def _characters(self, text: str) -> None:
        self._nodes += 1
        self._text += len(text)
        if self._text > self._limits.text:
            self._refuse(f"a text of more than {self._limits.text} characters", _ONE_CARD)
        self._count_nodes()

    def _count_attributes(self, count: int) -> None:
        if count > self._limits.attributes:
            self._refuse(f"more than {self._limits.attributes} attributes in one element", _ONE_CARD)

    def _count_nodes(self) -> None:
        if self._nodes > self._limits.nodes:
            self._refuse(f"more than {self._limits.nodes} elements, attributes and texts", _ONE_CARD)

    def _refuse(self, problem: str, remedy: str) -> NoReturn:
        place = self._parser.CurrentLineNumber, self._parser.CurrentColumnNumber + 1
        _refuse(self._file, place, problem, remedy=remedy)


_CUT_OFF = "the text ends inside an element", "It looks cut off: export or copy it again."
_EXPAT_WORDS = {
    expat.errors.XML_ERROR_TAG_MISMATCH: "an end tag does not match the open element",
    expat.errors.XML_ERROR_UNDEFINED_ENTITY: "an entity that XML does not define",
    expat.errors.XML_ERROR_JUNK_AFTER_DOC_ELEMENT: "more text stands after the end of the document",
    expat.errors.XML_ERROR_DUPLICATE_ATTRIBUTE: "an attribute stands twice in one element",
    expat.errors.XML_ERROR_UNBOUND_PREFIX: "a prefix without a namespace",
    expat.errors.XML_ERROR_BAD_CHAR_REF: "a reference to a character that XML does not allow",
    expat.errors.XML_ERROR_INVALID_TOKEN: "a character that XML does not allow here",
    expat.errors.XML_ERROR_MISPLACED_XML_PI: "text or blanks stand before the XML declaration",
}


_ENDS_EARLY = {
    expat.errors.XML_ERROR_UNCLOSED_TOKEN,
    expat.errors.XML_ERROR_PARTIAL_CHAR,
    expat.errors.XML_ERROR_UNCLOSED_CDATA_SECTION,
}


def _words(error: expat.ExpatError, *, at_end: bool) -> tuple[str, str]:
    message = expat.ErrorString(error.code)
    if message in _ENDS_EARLY or (at_end and message == expat.errors.XML_ERROR_NO_ELEMENTS):
        return _CUT_OFF
    return _EXPAT_WORDS.get(message, _NOT_XML), _EXPORT_AGAIN
