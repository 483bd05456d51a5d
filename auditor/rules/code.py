"""Python text in the making: lines, names, constants, and what each block keeps for later.

Knows no rules. The text holds names made here and literals written by ``repr``: nothing from a
file becomes code.
"""

from collections.abc import Hashable, Iterator
from contextlib import contextmanager
from typing import Any, TypeAlias

Tokens: TypeAlias = tuple[str, ...]

RECORD = "d"
"""The name of the whole record in the text."""


class Code:
    """The one object of compiling that changes, and only while the text is written."""

    def __init__(self) -> None:
        """Begin with no line."""
        self.constants: dict[str, Any] = {}
        self._lines: list[str] = []
        self._indent = 0
        self._names = 0
        self._kept: list[dict[Hashable, str]] = [{}]

    def text(self) -> str:
        """Return all lines."""
        return "\n".join(self._lines)

    def put(self, line: str) -> None:
        """Add a line at the present indent."""
        self._lines.append("    " * self._indent + line)

    @contextmanager
    def block(self, head: str) -> Iterator[None]:
        """Indent what follows below a line; what is kept inside is not known behind it."""
        self.put(head)
        self._indent += 1
        self._kept.append({})
        yield
        self._kept.pop()
        self._indent -= 1

    def name(self, kind: str) -> str:
        """Return a new name."""
        self._names += 1
        return f"{kind}{self._names}_"

    def constant(self, value: Any) -> str:  # noqa: ANN401 - any operand
        """Return what stands for a value in the text."""
        if isinstance(value, bool | int):
            return repr(value)
        name = self.name("C")
        self.constants[name] = value
        return name

    def known(self, key: Hashable) -> str:
        """Return the name under which something is kept here, or empty."""
        return next((names[key] for names in self._kept if key in names), "")

    def keep(self, key: Hashable, value: str, kind: str = "s") -> str:
        """Keep the value of an expression from here to the end of the block; return its name."""
        name = self._kept[-1][key] = self.name(kind)
        self.put(f"{name} = {value}")
        return name

    def fetch(self, root: str, tokens: Tokens) -> str:
        """Return the name that holds the setting at a place, fetched here if it is not known yet.

        ``root`` is the name of the record, or of a member of a list.
        """
        key = (root, tokens)
        return self.known(key) or self.keep(key, f"{self.section(root, tokens[:-1])}.get({tokens[-1]!r})")

    def section(self, root: str, tokens: Tokens) -> str:
        """Return the name that holds the object at a place, or an empty one where there is none."""
        if not tokens:
            return root
        key = (root, (*tokens, "/"))  # no member is named so: a section's key differs from its value's
        return self.known(key) or self.keep(key, f"{self.section(root, tokens[:-1])}.get({tokens[-1]!r}, E)")
