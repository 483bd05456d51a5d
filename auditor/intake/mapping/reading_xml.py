"""XML bytes → a source that can be asked by paths. Knows no settings."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from itertools import chain

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError
from auditor.intake.mapping.place import GROUP, Found
from auditor.intake.mapping.xml_path import Element, Walk, parse_path
from auditor.intake.safe_xml import XmlLimits, parse_xml

XML_LIMITS = XmlLimits(nodes=200_000)
"""An export of one card has a few thousand nodes; our own figure."""

MOST_VISITS = 3_000_000
"""Elements that all the places of a map look at together in one source; our own figure, some seconds."""


def read_xml(text: bytes, file: str, namespaces: Mapping[str, str]) -> "XmlBlock":
    """Return the document as one block.

    Raises:
        InputError: if it is no XML that may be read; later, if a map asks it for too much.
    """
    root = parse_xml(text, file, XML_LIMITS)
    return XmlBlock(_Document(file, root, namespaces), root)


class _Document:
    """The tree, the number of every element, and how much was looked at so far."""

    def __init__(self, file: str, root: Element, namespaces: Mapping[str, str]) -> None:
        self.root = root
        self._file, self._visits = file, 0
        self.walk = Walk(namespaces, self._visit)
        # Keeping the elements keeps their Python objects, which the numbers hang on.
        self.elements = list(root.iter("*"))
        self.numbers = {element: number for number, element in enumerate(self.elements)}
        self._indexes = dict(_indexes(self.elements))

    def _visit(self) -> None:
        self._visits += 1
        if self._visits > MOST_VISITS:
            problem = f"the map looks at more than {MOST_VISITS} elements of this source"
            remedy = "Write its places without //, or check that this is the export of one card."
            raise InputError([Fault(self._file, "", 0, 0, problem, remedy)])

    def path(self, element: Element, *, numbered: bool) -> str:
        """Return the place of an element below the root, with or without numbers of siblings."""
        names = []
        step: Element | None = element
        while step is not None and step is not self.root:
            index = self._indexes.get(step, 0) if numbered else 0
            names.append(f"{_local(str(step.tag))}[{index}]" if index else _local(str(step.tag)))
            step = step.getparent()
        return "/".join(reversed(names)) or "."


def _indexes(elements: Sequence[Element]) -> Iterator[tuple[Element, int]]:
    """Yield the number of each element that has siblings of its name."""
    for parent in elements:
        children = list(parent.iterchildren("*"))
        sizes = Counter(child.tag for child in children)
        seen: Counter[object] = Counter()
        for child in children:
            seen[child.tag] += 1
            if sizes[child.tag] > 1:
                yield child, seen[child.tag]


def _local(name: str) -> str:
    return name.rpartition("}")[2]


@dataclass(frozen=True, slots=True)
class XmlBlock:
    """An element as a block: places begin at its children, or at the top with a slash."""

    document: _Document
    element: Element

    def find(self, place: str) -> Sequence[Found]:
        """Return the values of the elements or attributes that a path leads to.

        Raises:
            PlaceError: if the place is no path that is read here.
            InputError: if the map looks at too much.
        """
        path = parse_path(place)
        elements = self.elements(place)
        if path.steps[-1].axis == "attribute":
            name = path.steps[-1].name
            return tuple(chain.from_iterable(self._attributes(element, name) for element in elements))
        return tuple(self._element_found(element) for element in elements)

    def blocks(self, inside: str, each: str) -> "Sequence[XmlBlock] | None":
        """Return the elements that a path leads to, as blocks.

        Raises:
            PlaceError: if a place is no path that is read here.
            InputError: if the map looks at too much.
        """
        around = self._inside(inside)
        if not each:
            return around or None
        found = {element: None for block in around for element in block.elements(each)}
        if not found and not (inside and around):
            return None
        return tuple(XmlBlock(self.document, element) for element in found)

    def holds_none(self, place: str) -> bool:  # noqa: ARG002 - XML does not tell an empty list from an empty text
        """Say no: an element without children may as well be an empty text."""
        return False

    def leaves(self) -> Sequence[Found]:
        """Return every text and every attribute below the element, and its own attributes."""
        return tuple(self._leaves())

    def here(self) -> Found:
        """Return the place of the element."""
        return self._element_found(self.element, "")

    def _leaves(self) -> Iterator[Found]:
        for element in self.element.iter("*"):
            yield from self._attributes(element, "*")
            found = self._element_found(element)
            if not found.fault and (found.text or not element.attrib):
                yield found

    def _inside(self, inside: str) -> "list[XmlBlock]":
        if not inside:
            return [self]
        return [XmlBlock(self.document, element) for element in self.elements(inside)]

    def elements(self, place: str) -> list[Element]:
        """Return the elements that a path leads to, each once.

        Raises:
            PlaceError: if the place is no path that is read here.
            InputError: if the map looks at too much.
        """
        path = parse_path(place)
        if not path.absolute:
            return self.document.walk.elements(path, self.element)
        return self._from_the_top(place)

    def _from_the_top(self, place: str) -> list[Element]:
        """Follow a path whose first name is that of the document's own element."""
        path, root = parse_path(place), self.document.root
        first = path.steps[0]
        if first.axis == "below":
            return self.document.walk.elements(path, root)
        if not self.document.walk.is_named(root, first.name):
            return []
        rest = type(path)(absolute=True, steps=path.steps[1:])
        return self.document.walk.elements(rest, root)

    def _element_found(self, element: Element, text: str | None = None) -> Found:
        is_group = text is None and next(element.iterchildren("*"), None) is not None
        own = (element.text or "").strip() if text is None else text
        return self._at(element, "", "" if is_group else own, fault=GROUP if is_group else "")

    def _attributes(self, element: Element, name: str) -> Iterator[Found]:
        names = list(map(str, element.attrib))
        for key, value in self.document.walk.attributes(element, name):
            yield self._at(element, f"/@{_local(key)}", value, place=names.index(key) + 1)

    def _at(self, element: Element, end: str, text: str, *, place: int = 0, fault: str = "") -> Found:
        document = self.document
        return Found(
            text=text,
            line=_line(element),
            at=f"{document.path(element, numbered=True)}{end}".removeprefix("./"),
            name=f"{document.path(element, numbered=False)}{end}".removeprefix("./"),
            key=document.numbers[element] * _MOST_ATTRIBUTES + place,
            fault=fault,
        )


_MOST_ATTRIBUTES = XML_LIMITS.attributes + 1


def _line(element: Element) -> int:
    line = element.sourceline
    return line if isinstance(line, int) else 0
