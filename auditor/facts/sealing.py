"""Sealing: every clear secret of a record gives way to what the rules ask of it, and no more.

What is kept of a secret is its length in bands, whether it is a well-known word, how hard it is
to guess, what makes it cheap to guess, and a keyed tag. Hashes, localized keys and what was
sealed before stay as they are. Opens no file: the site's key is passed in.
"""

import copy
import hmac
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from typing import Any, Final

from auditor.dataclass import replace
from auditor.facts.common_words import is_common_word
from auditor.facts.fact import Context, Settings
from auditor.facts.own_names import OwnNames, own_names
from auditor.facts.secret_class import (
    SITE_VARIANT,
    SITE_WORD,
    is_variant_of_well_known,
    is_well_known,
    text_of,
)
from auditor.facts.secret_structure import Flag, flags_of
from auditor.facts.strength import guess_band
from auditor.record.secret_place import Located, is_clear, located_secrets

KEY_OCTETS: Final = 32
"""Length of a site's key. Source: RFC 2104 section 3: at least as long as the hash's output."""

LENGTHS: Final = (1, 8, 12, 15, 16, 20)
"""Where the bands of length begin, in characters; the last has no upper bound.

There is a cut at every least length that a shipped rule asks for, so that a sealed secret is
judged as the clear one. A site that asks for another length inside a band gets *unknown*.
"""

_DOMAIN: Final = "witnessmark/seal-1"
_NAME_DIGITS: Final = 16


def seal(settings: Settings, key: bytes, context: Context) -> Settings:
    """Return the settings of a valid record without any clear secret; what it is given stays as it is.

    ``context`` gives the well-known words, the site's own among them: what these add is kept
    apart, with the digest of their list, and is judged only where the same list is in force. An
    empty secret stays empty. Of two secrets of one kind, sealed with one key, the tags are
    equal exactly if the secrets are.

    Raises:
        ValueError: if the key is too short.
    """
    if len(key) < KEY_OCTETS:
        raise ValueError(f"a site's key has {KEY_OCTETS} octets or more")
    sealed = copy.deepcopy(settings)
    for located in located_secrets(sealed):
        if is_clear(located.secret):
            form = _form(located, sealed, key, context)
            located.secret.clear()
            located.secret.update(form)
    return sealed


def key_name(key: bytes) -> str:
    """Return the name that tags carry of their key: a digest that says nothing else of it."""
    return _keyed(key, "key", "")[:_NAME_DIGITS]


def tag_of(text: str, kind: str, key: bytes) -> str:
    """Return the tag of a secret of some kind: HMAC-SHA-256, 64 hexadecimal digits.

    Source: RFC 2104; FIPS 198-1. The kind is part of what is hashed, so that nobody can see a
    community that is also somebody's password.
    """
    return _keyed(key, kind, text)


def length_band(length: int) -> dict[str, int]:
    """Return the band of a length of 1 or more, as a sealed secret states it."""
    at = bisect_right(LENGTHS, length)
    band = {"length_at_least": LENGTHS[at - 1]}
    return band if at == len(LENGTHS) else {**band, "length_at_most": LENGTHS[at] - 1}


def _form(located: Located, settings: Settings, key: bytes, context: Context) -> dict[str, Any]:
    text = text_of(located.secret)
    if not text:
        return {"empty": True}
    names = own_names(settings, _member(settings, located.tokens))
    known = _known(text, names, context)
    return {"sealed": {**known, "key": key_name(key), "tag": tag_of(text, located.kind, key)}}


def _known(text: str, names: OwnNames, context: Context) -> dict[str, Any]:
    """Return what is kept: by the shipped words alone, and apart from it what the site's own list adds."""
    shipped = replace(context, words=context.words - context.own_words)
    flags = [str(flag) for flag in flags_of(text, names, shipped)]
    return {
        **length_band(len(text)),
        "listed": _class_of(text, shipped),
        "guess_band": str(guess_band(text, names)),
        "flags": [*flags, *_own_flags(text, flags, context)],
        **({"word_list": context.word_list} if context.word_list else {}),
    }


def _class_of(text: str, shipped: Context) -> str:
    """Return the shipped list that a text stands in; whether a variant is meant is a matter of its flags."""
    if is_well_known({"clear": text}, shipped):
        return "well_known"
    return "common" if is_common_word(text) else "none"


def _own_flags(text: str, flags: Sequence[str], context: Context) -> Iterator[str]:
    """Yield what only the site's own list of words makes of a text."""
    if text.lower() in context.own_words:
        yield SITE_WORD
    elif Flag.WELL_KNOWN_VARIANT not in flags and is_variant_of_well_known({"clear": text}, context):
        yield SITE_VARIANT


def _member(settings: Settings, tokens: Sequence[str | int]) -> Settings:
    """Return the innermost member of a list that a secret belongs to; empty if it belongs to none."""
    value: Any = settings
    member: Settings = {}
    for token in tokens:
        value = value[token]
        member = value if isinstance(token, int) else member
    return member


def _keyed(key: bytes, kind: str, text: str) -> str:
    return hmac.digest(key, f"{_DOMAIN}\0{kind}\0{text}".encode(), "sha256").hex()
