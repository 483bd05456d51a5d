"""What a secret is built of: a known word, a repeated pattern, a date, the card's own names.

Holds no facts. SP 800-63B advises against rules on kinds of characters, so none are counted.
"""

import re
from collections.abc import Iterator
from enum import StrEnum
from typing import Final

from auditor.facts.fact import Context
from auditor.facts.own_names import OwnNames, compact
from auditor.facts.secret_class import Secret, is_variant, is_variant_of_well_known, text_of

_LEFT_OVER: Final = 4
"""So many letters or digits beside own names make no secret: a year, a count. Own choice."""

# Day, month and year in any usual order, with or without the century; with nothing between
# them, six or eight digits. Source: common practice, no source.
_DATE: Final = re.compile(
    r"(?:0?[1-9]|[12]\d|3[01])([-/. ]?)(?:0?[1-9]|[12]\d|3[01])\1(?:(?:19|20)\d\d|\d\d)"
    r"|(?:19|20)\d\d([-/. ]?)(?:0[1-9]|1[0-2])\2(?:0[1-9]|[12]\d|3[01])",
    re.ASCII,
)


class Flag(StrEnum):
    """Something that makes a secret cheap to guess, whatever its length."""

    WELL_KNOWN_VARIANT = "well_known_variant"
    REPEATED_PATTERN = "repeated_pattern"
    DATE = "date"
    OWN_NAME = "own_name"


NOTHING: Final = "nothing"


def flags_of(text: str, names: OwnNames, context: Context) -> tuple[Flag, ...]:
    """Return all flags of a text, in the order of ``Flag``: what a sealed secret keeps of it."""
    return tuple(_flags(text, names, context))


def _flags(text: str, names: OwnNames, context: Context) -> Iterator[Flag]:
    if is_variant(text.lower(), context.words):
        yield Flag.WELL_KNOWN_VARIANT
    if is_repeated_pattern(text):
        yield Flag.REPEATED_PATTERN
    if is_date(text):
        yield Flag.DATE
    if is_made_of_names(text, names):
        yield Flag.OWN_NAME


def derived_from(secret: Secret, names: OwnNames, context: Context) -> str | None:
    """Return the first flag of a secret, or ``nothing``.

    Unknown for hashes and keys, for a sealed secret without flags or from before the site's list
    of words, and where no flag is found but a name of the card was not captured.
    """
    text = text_of(secret) if secret else None
    if text is not None:
        first = next(_flags(text, names, context), None)  # one is enough
        return first.value if first else (NOTHING if names.are_complete else None)
    variant = is_variant_of_well_known(secret, context)
    flags = _flags_in_force(secret, variant=variant)
    if flags:
        return flags[0].value
    return NOTHING if flags is not None and variant is not None and names.are_complete else None


def repeats_pattern(secret: Secret) -> bool | None:
    """Return whether a secret is a shorter text over and over; hashes and keys hide it."""
    text = text_of(secret) if secret else None
    if text is not None:
        return is_repeated_pattern(text)
    flags = _flags_kept(secret)
    return None if flags is None else Flag.REPEATED_PATTERN in flags


def is_repeated_pattern(text: str) -> bool:
    """Return whether a text is a shorter text twice or more, such as bertbert.

    Source: RFC 3414 section 11.2: in SNMPv3 it gives the same key as the shorter text.
    """
    return 0 < (text + text).find(text, 1) < len(text)


def is_date(text: str) -> bool:
    """Return whether a text is no more than a date."""
    return text[:1].isdecimal() and _DATE.fullmatch(text) is not None


def is_made_of_names(text: str, names: OwnNames) -> bool:
    """Return whether a text is made of own names, with a few characters beside them at most.

    Case, and what stands between letters and digits, make no difference.
    """
    left = compact(text)
    inside = [name for name in names.words if name in left]
    if not inside:
        return False
    for name in sorted(inside, key=len, reverse=True):
        left = left.replace(name, "")
    return len(left) <= _LEFT_OVER


def _flags_in_force(secret: Secret, *, variant: bool | None) -> tuple[Flag, ...] | None:
    """Return the flags of a sealed secret, that of a variant by the lists of words in force."""
    kept = _flags_kept(secret)
    if kept is None:
        return None
    holds = {*kept} - {Flag.WELL_KNOWN_VARIANT} | ({Flag.WELL_KNOWN_VARIANT} if variant else set())
    return tuple(flag for flag in Flag if flag in holds)


def _flags_kept(secret: Secret) -> list[str] | None:
    flags: list[str] | None = secret["sealed"].get("flags") if secret and "sealed" in secret else None
    return flags
