"""What may be known of one secret, whatever its form; holds no facts and shows no secret.

A secret is an object in one of five forms (``clear``, ``sealed``, ``crypt``, ``localized``,
``empty``) or None where it was not captured. None as an answer is *unknown*.
"""

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import Any, Final, TypeAlias

from auditor.facts.between import Between, may_be_equal
from auditor.facts.common_words import is_common_word
from auditor.facts.fact import Context
from auditor.record.clear import Clear
from auditor.record.secret_place import PLAIN_CRYPT

Secret: TypeAlias = dict[str, Any] | None
"""A secret of a record, in any of its forms; None where it was not captured."""

SecretKey: TypeAlias = tuple[str, str]
"""Form and content of a secret, for comparing only. The content never reaches an output."""

EMPTY_KEY: Final[SecretKey] = ("clear", "")
"""What stands for the empty secret; no tag and no localized key is made of it."""

SITE_WORD: Final = "site_word"
SITE_VARIANT: Final = "site_variant"
"""What a sealed secret keeps of the site's own list: that it stands in it, or does with a simple ending."""
NEW_KEY: Final = "00000000"
"""Names no key: its tags stand for secrets that are yet to be made, each unlike any other."""

_NEW_FORM: Final = f"tag {NEW_KEY}"

_ENDING: Final = re.compile(r"[-_. @#]?[0-9]{0,4}[!?.*#@$]{0,2}")
_IN_ENDINGS: Final = frozenset("-_. @#0123456789!?*$")
_LONGEST_ENDING: Final = 7


def text_of(secret: dict[str, Any]) -> str | None:
    """Return the text of a secret that is there in clear, else None. It never reaches an output."""
    # Asked many times a card, nearly always of a clear secret.
    clear = secret.get("clear")
    if clear is not None:
        return clear.reveal() if clear.__class__ is Clear else str(clear)
    if "empty" in secret:
        return ""
    crypt = secret.get("crypt")
    return str(crypt)[len(PLAIN_CRYPT) :] if crypt and crypt.startswith(PLAIN_CRYPT) else None


def is_empty(secret: Secret) -> bool | None:
    """Return whether the secret is the empty text.

    A crypt hash hides it: unknown. A localized key is always made from some text, since its
    making repeats the text (RFC 3414 A.2).
    """
    if not secret:
        return None
    text = text_of(secret)
    if text is not None:
        return not text
    return None if "crypt" in secret else False


def is_well_known(secret: Secret, context: Context) -> bool | None:
    """Return whether the secret, whatever its case, is one of the well-known words.

    The empty text is none of them: it is a matter of ``is_empty``. Hashes and keys hide it.
    """
    if not secret:
        return None
    text = text_of(secret)
    if text is not None:
        return text.lower() in context.words
    return _is_listed(secret["sealed"], context) if "sealed" in secret else None


def is_variant_of_well_known(secret: Secret, context: Context) -> bool | None:
    """Return whether the secret is a well-known word, whatever its case, with a simple ending.

    Simple endings are up to four digits, such as a year, with a sign before or two behind
    them: admin2026, Public-1, password!. The word alone is no variant: ``is_well_known``.

    Source: common practice, no source.
    """
    if not secret:
        return None
    text = text_of(secret)
    if text is not None:
        return is_variant(text.lower(), context.words)
    return _is_listed_variant(secret["sealed"], context) if "sealed" in secret else None


def is_variant(text: str, words: frozenset[str]) -> bool:
    """Return whether a text in lower case is a word with a simple ending, and no word itself."""
    if text in words or len(text) > _longest(words) + _LONGEST_ENDING:
        return False
    for end in range(len(text) - 1, max(0, len(text) - _LONGEST_ENDING - 1), -1):
        if text[end] not in _IN_ENDINGS:
            return False
        if text[:end] in words and _ENDING.fullmatch(text, end):
            return True
    return False


@lru_cache(maxsize=8)  # a run has one list
def _longest(words: frozenset[str]) -> int:
    return max(map(len, words), default=0)


def is_common(secret: Secret, context: Context) -> bool | None:
    """Return whether the secret, whatever its case, stands in the frequency lists.

    A well-known word and its variants are none of these: each secret is of one class. Hashes and
    keys hide it.
    """
    if not secret:
        return None
    text = text_of(secret)
    if text is not None:
        listed: bool | None = is_common_word(text)
    else:
        listed = _is_in_lists(secret["sealed"]) if "sealed" in secret else None
    if not listed:
        return listed
    nearer = is_well_known(secret, context), is_variant_of_well_known(secret, context)
    return None if None in nearer and True not in nearer else True not in nearer


def _is_in_lists(sealed: dict[str, Any]) -> bool | None:
    listed = sealed.get("listed")
    return None if listed is None else bool(listed == "common")


def is_guessable(secret: Secret, context: Context) -> bool | None:
    """Return whether the secret is empty or a well-known word."""
    return is_empty(secret) or is_well_known(secret, context)


def length_of(secret: Secret) -> int | None:
    """Return the number of characters of the secret; the empty text has 0.

    Of a sealed secret perhaps only bounds are known: then it is a ``Between``.
    """
    if not secret:
        return None
    text = text_of(secret)
    if text is not None:
        return len(text)
    return _length_kept(secret["sealed"]) if "sealed" in secret else None


def same_as_key(secret: Secret) -> SecretKey | None:
    """Return a form in which equal keys are surely equal secrets, or None if there is none.

    Unequal keys are not surely unequal secrets: ``are_same`` says when they are.
    """
    if not secret:
        return None
    text = text_of(secret)
    if text is not None:
        return ("clear", text)
    if "sealed" in secret:
        tag, key = secret["sealed"].get("tag"), secret["sealed"].get("key", "")
        return None if tag is None else (f"tag {key}".rstrip(), tag)
    form, content = next(iter(secret.items()))
    return (form, content.lower() if form == "localized" else content)


def are_comparable(keys: Iterable[SecretKey | None]) -> bool:
    """Tell whether unequal keys are surely unequal secrets: all in clear, or all tags of one key.

    Tags are made for one kind of secret: secrets of two kinds can't be compared by them.
    """
    forms = {key and key[0] for key in keys if key != EMPTY_KEY and not _is_new(key)}
    return len(forms) <= 1 and all(form and form.startswith(("clear", "tag")) for form in forms)


def are_same(one: Secret, other: Secret, *, one_user: bool = False) -> bool | None:
    """Return whether two secrets are the same text.

    Two localized keys are compared as far as the shorter goes, since a privacy key is the
    head of the localized key (RFC 3826). That they differ proves something only
    for the keys of ``one_user``, which share hash and engine.
    """
    keys = same_as_key(one), same_as_key(other)
    if _is_new(keys[0]) or _is_new(keys[1]):
        return keys[0] == keys[1]
    if keys[0] is not None and keys[1] is not None and keys[0][0] == keys[1][0]:
        return _same_form(keys[0][0], keys[0][1], keys[1][1], one_user=one_user)
    return _same_by_size(one, other)


def _is_new(key: SecretKey | None) -> bool:
    return key is not None and key[0] == _NEW_FORM


def _is_listed(sealed: dict[str, Any], context: Context) -> bool | None:
    """Return whether a sealed secret is a well-known word: of the shipped list, or of the site's."""
    listed = sealed.get("listed")
    if listed is None or listed == "well_known":
        return None if listed is None else True
    if not context.word_list:
        return False
    return SITE_WORD in sealed.get("flags", ()) if _knows_list(sealed, context) else None


def _is_listed_variant(sealed: dict[str, Any], context: Context) -> bool | None:
    flags = sealed.get("flags")
    if flags is None or not context.word_list:
        return None if flags is None else "well_known_variant" in flags
    if not _knows_list(sealed, context):
        return None
    return SITE_WORD not in flags and ("well_known_variant" in flags or SITE_VARIANT in flags)


def _knows_list(sealed: dict[str, Any], context: Context) -> bool:
    """Tell whether a secret was sealed with the site's list that is in force."""
    return bool(sealed.get("word_list") == context.word_list)


def _length_kept(sealed: dict[str, Any]) -> int | None:
    least, most = sealed.get("length_at_least"), sealed.get("length_at_most")
    known: int | None = sealed.get("length", least if least == most else None)
    return known if known is not None or least is None else Between(least, most)


def _same_form(form: str, one: str, other: str, *, one_user: bool) -> bool | None:
    if form == "localized":
        shorter = min(len(one), len(other))
        return True if one[:shorter] == other[:shorter] else (False if one_user else None)
    if one == other:
        return True
    if form == "crypt" and one.rpartition("$")[0] != other.rpartition("$")[0]:
        return None  # another method or salt: the same text would look different
    return False


def _same_by_size(one: Secret, other: Secret) -> bool | None:
    empty = is_empty(one), is_empty(other)
    if None not in empty and empty[0] is not empty[1]:
        return False
    lengths = length_of(one), length_of(other)
    if lengths[0] is None or lengths[1] is None:
        return None
    return None if may_be_equal(lengths[0], lengths[1]) else False
