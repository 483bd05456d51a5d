"""The nearest known word, for a remedy that helps somebody who misspelt one."""

from collections.abc import Iterable

_SHORT_LIST = 12
_LONGEST = 200
"""Letters of a misspelt word that are looked at: the words that we know are shorter, our own figure."""


def close_word(word: str, known: Iterable[str]) -> str:
    """Return the known word that is most like a misspelt one, or empty where none is near."""
    from difflib import get_close_matches  # slow import: only a fault needs it

    return next(iter(get_close_matches(word[:_LONGEST], known, n=1, cutoff=0.5)), "")


def nearest(word: str, known: Iterable[str]) -> str:
    """Return a remedy that names the nearest known word, or else lists the known ones.

    Of more than twelve known words it lists the twelve that are least unlike.
    """
    from difflib import get_close_matches  # slow import: only a fault needs it

    words = sorted(known)
    close = close_word(word, words)
    if close:
        return f"Did you mean {close}?"
    if len(words) > _SHORT_LIST:
        likest = get_close_matches(word[:_LONGEST], words, n=_SHORT_LIST, cutoff=0.0)
        return f"Known, among {len(words)}: {', '.join(sorted(likest))}."
    return f"Known: {', '.join(words)}." if words else "None is known here: remove it."
