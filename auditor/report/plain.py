"""Text from a record or a ruleset → text that can neither act nor hide: one line, all of it visible.

Escaping for a format (markup, formulas, quotes) is the business of that format's writer.
"""

from functools import lru_cache
from unicodedata import category

_PICTURES = 0x2400
_DELETE = 0x7F
_ACTING = frozenset({"Cc", "Cf", "Cs", "Zl", "Zp"})
_NONCHARACTER = 0xFFFE
# Joiners shape letters and pictures of several scripts, and can't turn the direction of text.
_JOINERS = frozenset("\u200c\u200d")


def plain(text: str) -> str:
    """Return a text with every control and direction character made visible.

    A control becomes its picture (``␊`` for a line feed), any other character that acts
    without being seen its code (``[U+202E]``): marks of direction, separators of lines,
    zero-width characters, lone surrogates. The result is one line and can be encoded as UTF-8.

    Source: Unicode Standard, chapter 23 (characters that act), block Control Pictures.
    """
    if text.isprintable():
        return text
    return "".join(letter if letter.isprintable() else _visible(letter) for letter in text)


@lru_cache(maxsize=1024)
def _visible(letter: str) -> str:
    code = ord(letter)
    if code < ord(" "):
        return chr(_PICTURES + code)
    if code == _DELETE:
        return "␡"
    if letter in _JOINERS or not _acts(letter, code):
        return letter
    return f"[U+{code:04X}]"


def _acts(letter: str, code: int) -> bool:
    return category(letter) in _ACTING or code & _NONCHARACTER == _NONCHARACTER
