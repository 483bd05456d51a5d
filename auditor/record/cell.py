"""One setting as a person writes it into a cell or at a prompt, and back: text ↔ value.

Judges form only (a truth, a number, a list): what the schema allows of a value is asked later,
of the whole record. No message repeats what was written.
"""

import re
from collections.abc import Callable, Iterator, Mapping
from functools import cache
from math import isfinite
from typing import Any

import jsonschema_rs
import orjson

from auditor.record.clear import revealed
from auditor.record.mask import LEAVE_OUT, MASKED, is_masked
from auditor.record.outline import Leaf, leaf_at
from auditor.record.schema import card_schema

NONE, ANY_SOURCE, NOBODY, EMPTY = "none", "any", "nobody", "empty"
SEPARATOR = ";"

_TRUE = frozenset({"yes", "y", "true", "on", "1"})
_FALSE = frozenset({"no", "n", "false", "off", "0"})
_BLANKS = " \t\r\n"
_WHOLE = re.compile(r"[+-]?[0-9]{1,18}(?:\.0{1,18})?")
_NUMBER = re.compile(r"[+-]?[0-9]{1,400}(?:\.[0-9]{1,400})?(?:[eE][+-]?[0-9]{1,3})?")
_ITEM = re.compile(r'[ \t\r\n]*+("(?>[^"\\]|\\.)*"|[^";][^;]*|)[ \t\r\n]*(?:(;)|\Z)')
_SEALED = re.compile(r"(length|listed|tag)=(\S+)")


class CellError(ValueError):
    """A text that no value can be read from; neither part repeats the text."""

    def __init__(self, problem: str, remedy: str) -> None:
        """Keep all arguments in ``args``, so that the error survives pickling."""
        super().__init__(problem, remedy)
        self.problem, self.remedy = problem, remedy


class MaskedError(CellError):
    """A mask stands where a secret belongs: the setting is unknown."""


def read_cell(leaf: Leaf, text: str) -> Any:  # noqa: ANN401 - any JSON value
    """Return the value that a text of more than blanks states for a setting.

    Of a list of objects, the value is the number of its members.

    Raises:
        MaskedError: if a mask stands in the place of a secret.
        CellError: if the text is not of the setting's form.
    """
    return _READERS[leaf.kind](leaf, text)


def write_cell(leaf: Leaf, value: Any) -> str:  # noqa: ANN401 - any JSON value
    """Return the text from which ``read_cell`` reads the same value; of a clear secret, with the secret."""
    return _WRITERS[leaf.kind](leaf, value)


def says_none(leaf: Leaf) -> str:
    """Return how an empty list is written: where ``none`` may be an item, in round brackets."""
    return f"({NONE})" if _may_hold_none(leaf) else NONE


def read_truth(text: str) -> bool:
    """Return what yes, no and the like state.

    Raises:
        CellError: if the text is neither.
    """
    word = text.strip(_BLANKS).casefold()
    if word in _TRUE:
        return True
    if word in _FALSE:
        return False
    raise CellError("expected yes or no", "Write yes or no, or nothing if it is unknown.")


def _read_boolean(_: Leaf, text: str) -> bool:
    return read_truth(text)


def _read_number(_: Leaf, text: str) -> float:
    word = text.strip(_BLANKS)
    if _WHOLE.fullmatch(word):
        return int(word.partition(".")[0])
    if _NUMBER.fullmatch(word) and isfinite(float(word)):
        return float(word)
    raise CellError("expected a number", "Write digits alone, with a point and no unit.")


def _read_text(leaf: Leaf, text: str) -> str:
    word = text.strip(_BLANKS)
    if word.startswith('"'):
        return _quoted_text(word)
    return _as_listed(leaf, word)


def _quoted_text(word: str) -> str:
    try:
        text = orjson.loads(word)
    except orjson.JSONDecodeError as error:
        problem = "expected text; found a quotation mark at its start that nothing closes rightly"
        raise CellError(problem, _QUOTES) from error
    return str(text)


_QUOTES = 'Take the quotation marks away, or write the text as in JSON: "…", with \\" for one inside.'


def _as_listed(leaf: Leaf, word: str) -> str:
    """Return the allowed word that this is but for capitals, or the word itself."""
    if word in leaf.values:
        return word
    return next((known for known in leaf.values if known.casefold() == word.casefold()), word)


def _read_words(leaf: Leaf, text: str) -> list[str]:
    word = text.strip(_BLANKS)
    if word.casefold() in (NONE, f"({NONE})"):
        if word.startswith("(") or not _may_hold_none(leaf):
            return []
        raise CellError("none may mean an empty list or an item of this name", _NONE_REMEDY)
    return [_as_listed(leaf, item) for item in _items(word)]


_NONE_REMEDY = f"Write ({NONE}) for an empty list, {NONE}{SEPARATOR} for the one item of this name."


def _items(text: str) -> Iterator[str]:
    at, more = 0, True
    while more and at < len(text):
        found = _ITEM.match(text, at)
        if not found:
            raise CellError("expected items separated by ;", _QUOTES)
        item = found[1].rstrip(_BLANKS)
        if item:
            yield _quoted_text(item) if item.startswith('"') else item
        at, more = found.end(), bool(found[2])


def _read_sources(_: Leaf, text: str) -> dict[str, Any]:
    word = text.strip(_BLANKS).casefold()
    if word == ANY_SOURCE:
        return {"any": True}
    if word == NOBODY:
        return {"prefixes": []}
    if word in (NONE, f"({NONE})"):
        raise CellError("none may mean no limit or nobody", "Write any for no limit, nobody for nobody.")
    return {"prefixes": list(_items(text))}


def _read_members(_: Leaf, text: str) -> int:
    word = text.strip(_BLANKS).casefold()
    if word == NONE:
        return 0
    if word.isascii() and word.isdecimal() and len(word) <= _COUNT_DIGITS:
        return int(word)
    raise CellError("expected none, or how many there are", "Write none, or a whole number.")


_COUNT_DIGITS = 5


def _read_secret(_: Leaf, text: str) -> dict[str, Any]:
    form, colon, content = text.lstrip(_BLANKS).partition(":")
    word = form.strip(_BLANKS).casefold()
    if is_masked(text.strip(_BLANKS)) or (colon and is_masked(content.strip(_BLANKS))):
        raise MaskedError(MASKED, LEAVE_OUT)
    if word == EMPTY and not content.strip(_BLANKS):
        return {EMPTY: True}
    if colon and word in _FORMS:
        return _FORMS[word](content)
    raise CellError("expected a secret with its form before it", _FORM_REMEDY)


_FORM_REMEDY = "Write clear:…, crypt:…, localized:… or empty; or nothing if it is unknown."


def _read_clear(content: str) -> dict[str, Any]:
    """Take every character for a part of the secret, blanks included."""
    if not content:
        raise CellError("nothing follows clear:", "Write empty if the secret is the empty text.")
    return {"clear": content}


def _read_sealed(content: str) -> dict[str, Any]:
    if content.lstrip(_BLANKS).startswith("{"):
        return {"sealed": _sealed_whole(content)}
    pairs = _SEALED.findall(content)
    if len(pairs) != len(content.split()) or len({name for name, _ in pairs}) < len(pairs):
        raise CellError("expected what is known of the secret", "Write sealed:length=… listed=…")
    return {"sealed": {name: _sealed_value(name, word) for name, word in pairs}}


def _sealed_whole(content: str) -> dict[str, Any]:
    """Return what a sealing left, as JSON: more than a person writes."""
    try:
        sealed: dict[str, Any] = orjson.loads(content)
    except orjson.JSONDecodeError as error:
        raise CellError("expected what is known of the secret, as JSON", "Copy it whole.") from error
    return sealed


def _sealed_value(name: str, word: str) -> str | int:
    if name != "length":
        return word
    if word.isascii() and word.isdecimal() and len(word) <= _COUNT_DIGITS:
        return int(word)
    raise CellError("expected a whole number as length", "Write sealed:length=… with digits alone.")


_FORMS: Mapping[str, Callable[[str], dict[str, Any]]] = {
    "clear": _read_clear,
    "crypt": lambda content: {"crypt": content.strip(_BLANKS)},
    "localized": lambda content: {"localized": content.strip(_BLANKS)},
    "sealed": _read_sealed,
}


def _write_boolean(_: Leaf, value: bool) -> str:  # noqa: FBT001 - the value itself
    return "yes" if value else "no"


def _write_number(_: Leaf, value: float) -> str:
    return orjson.dumps(value).decode()


def _write_text(leaf: Leaf, value: str) -> str:
    return value if value in leaf.values or _is_plain(value) else orjson.dumps(value).decode()


def _is_plain(value: str) -> bool:
    """Tell whether a text stands in a cell as it is: nothing at its ends or in it gets lost."""
    unseen = any(letter < " " and letter not in "\t\n" for letter in value)
    return bool(value) and value.strip() == value and value[0] != '"' and not unseen


def _write_words(leaf: Leaf, value: list[str]) -> str:
    if not value:
        return says_none(leaf)
    if len(value) == 1 and value[0].casefold() in (NONE, f"({NONE})"):
        return _item(value[0]) + SEPARATOR
    return f"{SEPARATOR} ".join(_item(word) for word in value)


def _item(word: str) -> str:
    return word if _is_plain(word) and SEPARATOR not in word else orjson.dumps(word).decode()


def _write_sources(_: Leaf, value: Mapping[str, Any]) -> str:
    if "any" in value:
        return ANY_SOURCE
    return f"{SEPARATOR} ".join(value["prefixes"]) or NOBODY


def _write_members(_: Leaf, value: int) -> str:
    return str(value) if value else NONE


_BY_HAND = frozenset(("length", "listed", "tag"))
"""What a person may know of a sealed secret; a cell of no more is easier to read than JSON."""


def _write_secret(_: Leaf, value: Mapping[str, Any]) -> str:
    if EMPTY in value:
        return EMPTY
    form, content = next(iter(value.items()))
    if form == "sealed" and not set(content) <= _BY_HAND:
        return f"sealed:{orjson.dumps(content).decode()}"
    if form == "sealed":
        return f"sealed:{' '.join(f'{name}={known}' for name, known in content.items())}"
    return f"{form}:{revealed(content)}"


_READERS: Mapping[str, Callable[[Leaf, str], Any]] = {
    "boolean": _read_boolean,
    "number": _read_number,
    "text": _read_text,
    "words": _read_words,
    "sources": _read_sources,
    "members": _read_members,
    "secret": _read_secret,
}
_WRITERS: Mapping[str, Callable[[Leaf, Any], str]] = {
    "boolean": _write_boolean,
    "number": _write_number,
    "text": _write_text,
    "words": _write_words,
    "sources": _write_sources,
    "members": _write_members,
    "secret": _write_secret,
}


@cache
def _none_is_an_item(tokens: tuple[str, ...]) -> bool:
    leaf = leaf_at(tokens)
    items = {**leaf.node["items"], "$defs": card_schema()["$defs"]} if leaf else {}
    return jsonschema_rs.Draft202012Validator(items).is_valid(NONE)


def _may_hold_none(leaf: Leaf) -> bool:
    return _none_is_an_item(leaf.tokens)
