"""Bytes of a captured terminal or a text file → clean lines. Knows no labels."""

import re
from collections.abc import Iterator

from auditor.errors import Fault, InputError
from auditor.record.limits import DEFAULT

LONGEST_LINE = 16_384
"""Characters of one line; no label and value of a card is longer. Our own figure."""

MOST_LINES = 200_000
"""Lines in the export of one card at most; our own figure."""

# Source: ECMA-48 sections 5.4 (CSI sequences) and 5.6 (strings), and its two-byte escapes.
_ESCAPE = re.compile(r"\x1b(?:\[[0-?]*+[ -/]*+[@-~]|\][^\x07\x1b]*+(?:\x07|\x1b\\)|[@-Z\\^_])")
_BACKSPACE = "\b"
_UNSEEN = dict.fromkeys((*range(1, 8), *range(11, 13), *range(14, 32), 127))
_REMEDY = "Save the capture as plain text in UTF-8."


def read_lines(text: bytes, file: str) -> list[tuple[int, str]]:
    """Return number and text of each line that is not blank, as somebody would have seen it.

    Carriage returns and backspaces overwrite, colours and other controls are dropped.

    Raises:
        InputError: with one fault: too large, not UTF-8, a NUL character, a line that is too long.
    """
    clean = _decoded(text, file)
    lines = clean.split("\n")
    if len(lines) > MOST_LINES:
        raise _refused(
            file, MOST_LINES + 1, f"more than {MOST_LINES} lines", "Check that this is one card's."
        )
    return [(number, line) for number, line in _numbered(lines, file) if line]


def _decoded(text: bytes, file: str) -> str:
    if len(text) > DEFAULT.record_bytes:
        problem = f"larger than {DEFAULT.record_bytes} bytes, the most for one source"
        raise _refused(file, 0, problem, "Check that this is the export of one card.")
    at = text.find(b"\x00")
    if at >= 0:
        problem = "a NUL character: this is no plain text in UTF-8"
        raise _refused(file, text.count(b"\n", 0, at) + 1, problem, _REMEDY)
    try:
        return text.decode("utf-8").removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        line = text.count(b"\n", 0, error.start) + 1
        raise _refused(file, line, "the text is not UTF-8", _REMEDY) from error


def _refused(file: str, line: int, problem: str, remedy: str) -> InputError:
    return InputError([Fault(file, "", line, 0, problem, remedy)])


def _numbered(lines: list[str], file: str) -> Iterator[tuple[int, str]]:
    for number, line in enumerate(lines, 1):
        if len(line) > LONGEST_LINE:
            problem = f"a line of more than {LONGEST_LINE} characters"
            raise _refused(file, number, problem, "Check that this is text with a setting a line.")
        yield number, seen(line)


def seen(line: str) -> str:
    """Return what a terminal shows of a line, without blanks round it."""
    if line.isprintable():
        return line.strip()
    shown = ""
    for part in _ESCAPE.sub("", line).split("\r"):
        erased = _erased(part)
        shown = erased + shown[len(erased) :]
    return shown.translate(_UNSEEN).replace("\x1b", "").strip()


def _erased(part: str) -> str:
    if _BACKSPACE not in part:
        return part
    letters: list[str] = []
    for letter in part:
        if letter != _BACKSPACE:
            letters.append(letter)
        elif letters:
            letters.pop()
    return "".join(letters)
