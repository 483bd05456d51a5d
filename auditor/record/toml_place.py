"""Where a key stands in a TOML file: the line of a path. Reads places, not meaning.

The parser of the standard library gives no lines for what it has read, so this walks the same
text again, once a fault is to be told. The text is TOML already; of any other text it makes
what it can, and never fails.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from functools import lru_cache
from types import MappingProxyType
from typing import NamedTuple, TypeAlias

Path: TypeAlias = tuple[str | int, ...]

# Strings first, the triple-quoted ones before the others, so that no bracket, hash or line
# end inside a string counts. Source: TOML v1.0.0, sections String, Comment and Keys.
_TOKEN = re.compile(
    r'"""(?:\\[\s\S]|(?!""")[^\\])*+"{3,5}'
    r"|'''(?:(?!''')[\s\S])*+'{3,5}"
    r'|"(?:\\.|[^"\\\n])*+"'
    r"|'[^'\n]*'"
    r"|#[^\n]*"
    r"|\n"
    r"|[\[\]{}=,.]"
    r"|[^\s\[\]{}=,.\"'#]+"
    r"|[\"']"
)


class _Token(NamedTuple):
    text: str
    line: int


_END = _Token("", 0)
_AFTER_KEYS = frozenset(("=", "]", "\n", ""))
_AFTER_VALUE = frozenset((",", "]", "}", "\n", ""))


def line_of(text: str, path: Sequence[str | int]) -> int:
    """Return the line (from 1) of the key or item that a path leads to, or of what encloses it."""
    lines, wanted = lines_of(text), tuple(path)
    return next((lines[wanted[:n]] for n in range(len(wanted), 0, -1) if wanted[:n] in lines), 1)


@lru_cache(maxsize=2)  # a file with many faults is walked once
def lines_of(text: str) -> Mapping[Path, int]:
    """Return the line of every table, key and list item in a TOML text, by path."""
    walk = _Walk(text)
    with suppress(RecursionError):  # what was found before the text became too deep still serves
        walk.document()
    return MappingProxyType(walk.lines)


def _tokens(text: str) -> Iterator[_Token]:
    line = 1
    for match in _TOKEN.finditer(text):
        if not match[0].startswith("#"):
            yield _Token(match[0], line)
        line += match[0].count("\n")


def _key(token: str) -> str:
    if token[0] not in "\"'":
        return token
    try:
        return str(tomllib.loads(f"key = {token}")["key"])
    except tomllib.TOMLDecodeError:
        return token


class _Walk:
    """One walk over a text; it changes while it goes, and only then."""

    def __init__(self, text: str) -> None:
        self.lines: dict[Path, int] = {}
        self._tokens = list(_tokens(text))
        self._next = 0
        self._last_of: dict[Path, int] = {}
        """Index of the latest table of each array of tables."""

    def document(self) -> None:
        table: Path = ()
        while (token := self._peek()) is not _END:
            if token.text == "[":
                table = self._header()
            elif token.text == "\n":
                self._take()
            else:
                self._pair(table)

    def _header(self) -> Path:
        line, is_array = self._take().line, self._peek().text == "["
        if is_array:
            self._take()
        path: Path = ()
        keys = self._keys()
        for place, key in enumerate(keys, 1):
            path = self._into(path, key, line, fresh=is_array and place == len(keys))
        while self._peek().text == "]":
            self._take()
        return path

    def _into(self, path: Path, key: str, line: int, *, fresh: bool) -> Path:
        """Go one key down; where an array of tables stands there, into its latest table."""
        path = (*path, key)
        self.lines.setdefault(path, line)
        if fresh:
            self._last_of[path] = self._last_of.get(path, -1) + 1
        if path in self._last_of:
            path = (*path, self._last_of[path])
            self.lines.setdefault(path, line)
        return path

    def _pair(self, table: Path) -> None:
        line, path = self._peek().line, table
        for key in self._keys():
            path = (*path, key)
            self.lines.setdefault(path, line)
        if self._peek().text == "=":
            self._take()
        self._value(path)

    def _keys(self) -> list[str]:
        keys = []
        while self._peek().text not in _AFTER_KEYS:
            part = self._take().text
            if part != ".":
                keys.append(_key(part))
        return keys

    def _value(self, path: Path) -> None:
        match self._peek().text:
            case "[":
                self._list(path)
            case "{":
                self._inline_table(path)
            case _:
                self._take()  # always one, so that the walk goes on in any text
                while self._peek().text not in _AFTER_VALUE:
                    self._take()

    def _list(self, path: Path) -> None:
        self._take()
        index = 0
        while self._peek().text not in ("]", ""):
            if self._peek().text in (",", "\n"):
                index += self._take().text == ","
            else:
                self.lines[(*path, index)] = self._peek().line
                self._value((*path, index))
        self._take()

    def _inline_table(self, path: Path) -> None:
        self._take()
        while self._peek().text not in ("}", ""):
            if self._peek().text in (",", "\n"):
                self._take()
            else:
                self._pair(path)
        self._take()

    def _peek(self) -> _Token:
        return self._tokens[self._next] if self._next < len(self._tokens) else _END

    def _take(self) -> _Token:
        token = self._peek()
        self._next += 1
        return token
