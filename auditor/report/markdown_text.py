"""Text that Markdown shows and never obeys. Knows no report.

Source: CommonMark 0.31 (entities are never taken for structure; nothing works inside code), and
the tables of GitHub Flavored Markdown (a bar ends a cell, even inside code).
"""

import re
from collections.abc import Iterable

from auditor.report.plain import plain

_STRUCTURE = "&<>|\\`*_[]~"
_IN_PROSE = str.maketrans({sign: f"&#{ord(sign)};" for sign in _STRUCTURE})
_IN_HTML = str.maketrans({sign: f"&#{ord(sign)};" for sign in _STRUCTURE + ".:@\"'"})
_IN_SENTENCE = str.maketrans({sign: f"&#{ord(sign)};" for sign in _STRUCTURE + "@#!"})
_LINK = re.compile(r"(?:www\.|:(?=//))", re.IGNORECASE)
_NOT_IN_CODE = frozenset("|\\`")


def code(text: str) -> str:
    """Return text of a record as code, in which neither markup, links nor mentions work.

    Where the text holds signs that code can't hold in a cell of a table, it becomes an HTML
    element with entities, which looks the same.
    """
    shown = plain(text).strip()
    if not shown:
        return ""
    return html_code(shown) if _NOT_IN_CODE.intersection(shown) else f"`{shown}`"


def html_code(text: str) -> str:
    """Return text of a record as an HTML element, for places where Markdown does not work."""
    return f"<code>{plain(text).translate(_IN_HTML)}</code>"


def prose(text: str) -> str:
    """Return text of a ruleset or of the site's file, without any structure of its own."""
    return plain(" ".join(text.split())).translate(_IN_PROSE)


def sentence(text: str) -> str:
    """Return a sentence that holds text of a record: no structure, no link, no mention, no reference.

    Source: GitHub Flavored Markdown (extended autolinks); mentions and references are common
    practice of forges, no source.
    """
    shown = plain(" ".join(text.split())).translate(_IN_SENTENCE)
    return _LINK.sub(lambda found: f"{found[0][:-1]}&#{ord(found[0][-1])};", shown)


def table(columns: Iterable[str], rows: Iterable[Iterable[str]]) -> list[str]:
    """Return the lines of a table; cells are ready text. Names that end in ``:`` are of numbers."""
    names = list(columns)
    marks = ["---:" if name.endswith(":") else "---" for name in names]
    heads = [name.removesuffix(":") for name in names]
    return [_row(heads), _row(marks), *map(_row, rows)]


def _row(cells: Iterable[str]) -> str:
    return f"| {' | '.join(cells)} |"


def folded(summary: str, lines: Iterable[str]) -> list[str]:
    """Return lines that are folded away under a summary, which is HTML."""
    return ["<details>", f"<summary>{summary}</summary>", "", *lines, "", "</details>"]
