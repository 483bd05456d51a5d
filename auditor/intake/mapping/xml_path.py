"""The places of an XML source: a small part of XPath 1.0, read once, walked with a bound.

A full XPath engine is not used on purpose: its functions and nested conditions can be made to
run for hours on a small file. Here every step looks at an element a bounded number of times.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple, TypeAlias

from auditor.dataclass import dataclass
from auditor.intake.mapping.place import PlaceError

if TYPE_CHECKING:
    from lxml import etree

Element: TypeAlias = "etree._Element"  # noqa: SLF001 - lxml has no public name for it

_NAME = r"(?:[A-Za-z_][\w.-]*+:)?(?:[A-Za-z_][\w.-]*+|\*)"
_CONDITION = (
    r"\[\s*+(?:(?P<number>[1-9][0-9]{0,4})"
    rf"|(?P<subject>\.|@?{_NAME})(?:\s*+=\s*+(?P<literal>\"[^\"]*\"|'[^']*'))?)\s*+\]"
)
_AXES = {"/": "child", "//": "below", "": "child"}
_STEP = re.compile(rf"(?P<slash>//?|)(?:(?P<up>\.\.)|(?P<self>\.)|(?P<attribute>@?)(?P<name>{_NAME}))")
_TEST = re.compile(_CONDITION)
_REMEDY = (
    "Write names with / between them, such as services/telnet/@state, user[@role='admin']/name or //port."
)


class Condition(NamedTuple):
    """A condition in square brackets: a number, or a name with or without a value."""

    number: int
    subject: str
    value: str | None


class Step(NamedTuple):
    """One step: ``child``, ``below``, ``self``, ``up`` or ``attribute``, a name, its conditions."""

    axis: str
    name: str
    conditions: tuple[Condition, ...]


@dataclass(frozen=True, slots=True)
class XmlPath:
    """A place: its steps, and whether it begins at the top of the document."""

    absolute: bool
    steps: tuple[Step, ...]


@lru_cache(maxsize=4096)
def parse_path(text: str) -> XmlPath:
    """Return the steps of a place.

    Raises:
        PlaceError: if the text is not one of the paths that are read here.

    Source: XPath 1.0 section 2.5 (abbreviated syntax). A name without a prefix is met in any
    namespace, which is simpler than XPath 1.0 has it.
    """
    steps: list[Step] = []
    at = 0
    while at < len(text) or not steps:
        found = _STEP.match(text, at)
        if found is None or (at and not found["slash"]):
            raise PlaceError("not a path that is read here", _REMEDY)
        at, conditions = _conditions(text, found.end())
        steps.append(_step(found, conditions))
    if any(step.axis == "attribute" for step in steps[:-1]):
        raise PlaceError("an attribute has nothing below it", "Write the attribute last.")
    absolute = steps[0].axis != "below" and text.startswith("/")
    if absolute and (steps[0].axis != "child" or steps[0].conditions):
        raise PlaceError("the path begins with no name of the document's own element", _REMEDY)
    return XmlPath(text.startswith("/"), tuple(steps))


def _step(found: re.Match[str], conditions: tuple[Condition, ...]) -> Step:
    if found["up"] or found["self"]:
        axis = "up" if found["up"] else "self"
        if conditions or found["slash"] == "//":
            raise PlaceError("a dot takes no condition and no //", _REMEDY)
        return Step(axis, "", ())
    if found["attribute"]:
        if conditions or found["slash"] == "//":
            raise PlaceError("an attribute takes no condition and no //", _REMEDY)
        return Step("attribute", found["name"], ())
    return Step(_AXES[found["slash"]], found["name"], conditions)


def _conditions(text: str, at: int) -> tuple[int, tuple[Condition, ...]]:
    conditions = []
    while found := _TEST.match(text, at):
        literal = found["literal"]
        value = None if literal is None else literal[1:-1]
        conditions.append(Condition(int(found["number"] or 0), found["subject"] or "", value))
        at = found.end()
    return at, tuple(conditions)


def prefixes_of(path: XmlPath) -> set[str]:
    """Return the namespace prefixes that a place uses."""
    names = [step.name for step in path.steps]
    names += [condition.subject for step in path.steps for condition in step.conditions]
    return {name.lstrip("@").partition(":")[0] for name in names if ":" in name}


@dataclass(frozen=True, slots=True)
class Walk:
    """Follows places; ``visit`` is called for every element looked at, and may refuse."""

    namespaces: Mapping[str, str]
    visit: Callable[[], None]

    def elements(self, path: XmlPath, start: Element) -> list[Element]:
        """Return the elements that the steps but an attribute lead to, each once, in file order."""
        level = {start: None}
        for step in path.steps:
            if step.axis != "attribute":
                level = {found: None for element in level for found in self._step(step, element)}
        return list(level)

    def _step(self, step: Step, element: Element) -> Iterator[Element]:
        self.visit()
        if step.axis == "self":
            return iter((element,))
        if step.axis == "up":
            parent = element.getparent()
            return iter(() if parent is None else (parent,))
        tag = self._tag(step.name)
        found = element.iterdescendants(tag) if step.axis == "below" else element.iterchildren(tag)
        return self._chosen(self._counted(found), step.conditions)

    def _counted(self, found: Iterator[Element]) -> Iterator[Element]:
        for element in found:
            self.visit()
            yield element

    def _chosen(self, found: Iterator[Element], conditions: tuple[Condition, ...]) -> Iterator[Element]:
        for condition in conditions:
            found = self._kept(found, condition)
        return found

    def _kept(self, found: Iterator[Element], condition: Condition) -> Iterator[Element]:
        for number, element in enumerate(found, 1):
            if condition.number == number or (not condition.number and self._holds(element, condition)):
                yield element

    def _holds(self, element: Element, condition: Condition) -> bool:
        texts = list(self._texts(element, condition.subject))
        return bool(texts) if condition.value is None else condition.value in texts

    def _texts(self, element: Element, subject: str) -> Iterator[str]:
        if subject == ".":
            yield (element.text or "").strip()
        elif subject.startswith("@"):
            yield from (value for _, value in self.attributes(element, subject[1:]))
        else:
            children = self._counted(element.iterchildren(self._tag(subject)))
            yield from ((child.text or "").strip() for child in children)

    def attributes(self, element: Element, name: str) -> Iterator[tuple[str, str]]:
        """Yield the full name and the value of each attribute that a name leads to."""
        prefix, _, local = name.rpartition(":")
        for key, value in element.attrib.items():
            space, _, own = str(key).rpartition("}")
            if local in ("*", own) and (not prefix or space[1:] == self.namespaces[prefix]):
                yield str(key), str(value)

    def is_named(self, element: Element, name: str) -> bool:
        """Tell whether an element has a name."""
        prefix, _, local = name.rpartition(":")
        space, _, own = str(element.tag).rpartition("}")
        return local in ("*", own) and (not prefix or space[1:] == self.namespaces[prefix])

    def _tag(self, name: str) -> str:
        prefix, _, local = name.rpartition(":")
        return f"{{{self.namespaces[prefix] if prefix else '*'}}}{local}"
