"""The grammar of JSON as one table of states, and plain words for text that breaks it.

Holds no loop over a text: ``position`` walks, this knows what may come next and what most
likely went wrong. Words never repeat a character of the text, which may belong to a secret.

Source: RFC 8259 sections 2 to 7.
"""

import re
from collections.abc import Sequence
from typing import Literal, NamedTuple, TypeAlias

State: TypeAlias = Literal[
    "value", "item", "next_item", "member", "next_member", "after_member", "after_item", "end"
]
"""What may come next: a value; an item or ]; an item; a member or }; a member; a comma or }; a comma or ]."""

_BLANK = r"[ \t\r\n]*+"
_HEX = "[0-9a-fA-F]"
_PLAIN = (
    r'(?:[^"\\\x00-\x1f]++'
    r'|\\["\\/bfnrt]'
    rf"|\\u(?:[0-9a-ce-fA-CE-F]{_HEX}{{3}}|[dD][0-7]{_HEX}{{2}}"
    rf"|[dD][89abAB]{_HEX}{{2}}\\u[dD][c-fC-F]{_HEX}{{2}}))*+"
)
_STRING = f'"{_PLAIN}"'
_NUMBER = r"-?(?:0|[1-9][0-9]*+)(?:\.[0-9]++)?(?:[eE][+-]?[0-9]++)?"
_VALUE = rf"(?P<open>[\[{{])|(?P<scalar>{_STRING}|{_NUMBER}|true|false|null)"
_NAME = f"(?P<name>{_STRING}){_BLANK}:"

STATES: dict[State, re.Pattern[str]] = {
    "value": re.compile(f"{_BLANK}(?:{_VALUE})"),
    "item": re.compile(rf"{_BLANK}(?:(?P<close>\])|{_VALUE})"),
    "next_item": re.compile(f"{_BLANK}(?:{_VALUE})"),
    "member": re.compile(rf"{_BLANK}(?:(?P<close>\}})|{_NAME})"),
    "next_member": re.compile(f"{_BLANK}{_NAME}"),
    "after_member": re.compile(rf"{_BLANK}(?:(?P<comma>,)|(?P<close>\}}))"),
    "after_item": re.compile(rf"{_BLANK}(?:(?P<comma>,)|(?P<close>\]))"),
    "end": re.compile(rf"{_BLANK}(?P<end>\Z)"),
}


class Diagnosis(NamedTuple):
    """What broke the grammar: where in the text, the problem, the remedy, and whether it just ends."""

    at: int
    problem: str
    remedy: str
    cut_off: bool = False


class _Clue(NamedTuple):
    states: frozenset[State]
    sign: re.Pattern[str]
    problem: str
    remedy: str


def _clue(states: Sequence[State], sign: str, problem: str, remedy: str) -> _Clue:
    return _Clue(frozenset(states), re.compile(sign), problem, remedy)


_VALUES: tuple[State, ...] = ("value", "item", "next_item")
_NAMES: tuple[State, ...] = ("member", "next_member")
_AFTER: tuple[State, ...] = ("after_member", "after_item")
_ALL: tuple[State, ...] = (*_VALUES, *_NAMES, *_AFTER, "end")
_DIGITS = "Write digits on both sides of the point, without a plus sign or leading zeros."

_CLUES = (
    _clue(_ALL, r"//|/\*|#", "JSON has no comments", "Remove the comment; site_notes holds free text."),
    _clue(
        _VALUES,
        r"-?(?:NaN|Infinity)\b",
        "NaN and Infinity are no JSON numbers",
        "Leave the member out if its value is unknown.",
    ),
    _clue(
        _VALUES,
        r"(?i:true|false|null|none)\b",
        "true and false are written in small letters",
        "Write true or false; leave the member out if its value is unknown.",
    ),
    _clue((*_VALUES, *_NAMES), "'", "single quotes are no JSON", "Write names and texts in double quotes."),
    _clue(
        ("next_item", "next_member"), r"[\]}]", "a comma stands before a closing bracket", "Remove the comma."
    ),
    _clue(_ALL, "[,:]", "a comma or colon too many", "Remove it, or write what is missing before it."),
    _clue(_VALUES, r"[+.]?[0-9]|-", "no JSON number", _DIGITS),
    _clue(_AFTER, r"(?<=[0-9])[.0-9eExX+-]", "no JSON number", _DIGITS),
    _clue(_NAMES, "", "expected the name of a member, in double quotes", 'Write it as "name": value.'),
    _clue(
        _AFTER,
        r"[\]}]",
        "the closing bracket does not match the open one",
        "Close with the same kind, {} or [].",
    ),
    _clue(
        ("after_member",),
        '"',
        "a comma is missing between two members",
        'Write a comma before this name; inside a text, write a quotation mark as \\".',
    ),
    _clue(("after_item",), r"[\"{\[\w]", "a comma is missing between two items", "Write a comma before it."),
    _clue(
        ("end",),
        "",
        "more text stands after the end of the record",
        "Keep one record in a .json file; save several as .ndjson, one a line.",
    ),
    _clue(_VALUES, "", "expected a value", "Write a text in double quotes, a number, true, false, {} or []."),
    _clue(
        _AFTER, "", "expected a comma or a closing bracket", 'Inside a text, write a quotation mark as \\".'
    ),
)


def diagnose(text: str, at: int, state: State, opener: str) -> Diagnosis:
    """Say what is wrong with a text that breaks the grammar.

    ``at`` is where the last thing understood ended. ``opener`` names the innermost open
    bracket, empty if there is none.
    """
    at = _skip(text, at)
    if at == len(text):
        return _cut_off(at, opener)
    if text[at] == '"' and state in (*_VALUES, *_NAMES):
        return _string_diagnosis(text, at)
    clue = next(clue for clue in _CLUES if state in clue.states and clue.sign.match(text, at))
    return Diagnosis(at, clue.problem, clue.remedy)


def _cut_off(at: int, opener: str) -> Diagnosis:
    inside = f" inside {opener}" if opener else ""
    return Diagnosis(at, f"the text ends{inside}", "It looks cut off: copy or export it again.", cut_off=True)


def _skip(text: str, at: int) -> int:
    found = re.compile(_BLANK).match(text, at)
    return found.end() if found else at


def _string_diagnosis(text: str, start: int) -> Diagnosis:
    found = re.compile(f'"{_PLAIN}').match(text, start)
    at = found.end() if found else start
    here = text[at : at + 1]
    if not text[at:].strip():
        return _cut_off(at, "a text that is not closed")
    if here == '"':
        return Diagnosis(
            _skip(text, at + 1), "a colon is missing after the name", 'Write it as "name": value.'
        )
    if re.match(r"\\u[dD][89a-fA-F]", text[at : at + 4]):
        return Diagnosis(at, "half of a surrogate pair is no character", "Write the character itself.")
    if here == "\\":
        return Diagnosis(
            at, "no JSON escape", "Write a backslash as \\\\ and a character by number as \\u0041."
        )
    if here in "\r\n":
        return Diagnosis(
            start,
            "a text is not closed on its line",
            "Close it with a quotation mark; a line break in it is \\n.",
        )
    return Diagnosis(at, f"a control character (U+{ord(here):04X}) in a text", f"Write \\u{ord(here):04x}.")
