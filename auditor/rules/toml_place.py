"""Where a key stands in a TOML file: the line of a path. Reads text, not meaning.

The parser of the standard library gives no lines for what it has read, so this walks the
text: table headers, then keys. It serves messages only; where it finds no better place, it
answers with the line of the nearest enclosing table.
"""

import re
from collections.abc import Iterator, Sequence

_HEADER = re.compile(r"^\s*(\[\[?)\s*([A-Za-z0-9_.\"'\- ]+?)\s*\]\]?\s*(#.*)?$")


def line_of(text: str, path: Sequence[str | int]) -> int:
    """Return the line (from 1) of the key that a path leads to, or of what encloses it."""
    lines = text.split("\n")
    begin, end, used = _table(lines, path)
    best = begin
    for key in (step for step in path[used:] if isinstance(step, str)):
        best = _key_line(lines, best, end, key) or best
    return best


def _table(lines: Sequence[str], path: Sequence[str | int]) -> tuple[int, int, int]:
    """Return the first and last line of the deepest table on the path, and its depth."""
    best = (1, len(lines), 0)
    for begin, end, steps in _tables(lines):
        if len(steps) > best[2] and tuple(path[: len(steps)]) == steps:
            best = (begin, end, len(steps))
    return best


def _tables(lines: Sequence[str]) -> Iterator[tuple[int, int, tuple[str | int, ...]]]:
    headers = [(number, match) for number, line in enumerate(lines, 1) if (match := _HEADER.match(line))]
    seen: dict[str, int] = {}
    for position, (number, match) in enumerate(headers):
        keys: tuple[str | int, ...] = tuple(part.strip(" \"'") for part in match[2].split("."))
        if match[1] == "[[":
            seen[match[2]] = seen.get(match[2], -1) + 1
            keys = (*keys, seen[match[2]])
        elif len(keys) > 1 and str(keys[0]) in seen:
            keys = (keys[0], seen[str(keys[0])], *keys[1:])
        last = headers[position + 1][0] - 1 if position + 1 < len(headers) else len(lines)
        yield number, last, keys


def _key_line(lines: Sequence[str], begin: int, end: int, key: str) -> int | None:
    wanted = re.compile(rf"(^|[\s{{,.\"']){re.escape(key)}[\"']?\s*[=.]")
    return next((n for n in range(begin, end + 1) if wanted.search(lines[n - 1])), None)
