"""The names that a card goes by, as an intruder would try them in a secret. Judges no secret."""

import re
from functools import lru_cache
from typing import Final, NamedTuple

from auditor.facts.fact import Settings

_EMPTY: Settings = {}
_SHORTEST: Final = 3
"""Shorter parts of names stand in many texts by chance. Source: common practice, no source."""

_PARTS: Final = re.compile(r"[^\W_]+")


class OwnNames(NamedTuple):
    """Names and their parts, lower case, letters and digits only.

    ``are_complete`` is false where a name of the card was not captured: then it can't be said
    that a secret has nothing of it.
    """

    words: frozenset[str]
    are_complete: bool


def own_names(record: Settings, member: Settings) -> OwnNames:
    """Return the names that stand near a secret.

    They are the card's id, site, serial number and host name, and the name of the member of a list
    that the secret belongs to, such as an account; the card itself has no such member.

    Source: NIST SP 800-63B (revision 3) section 5.1.1.2, context-specific words.
    """
    card = record.get("card", _EMPTY)
    hostname = record.get("network", _EMPTY).get("hostname")
    stated = (card.get("site"), card.get("serial_number"), hostname)
    of_card, of_member = _names((card.get("id"), *stated)), _names((member.get("name"),))
    return OwnNames(of_card | of_member, None not in stated)


def compact(text: str) -> str:
    """Return the letters and digits of a text, lower case."""
    # To look for the common signs one by one is many times faster than a pattern, or a table.
    plain = text.lower().replace("-", "").replace(".", "").replace("_", "")
    return plain if plain.isalnum() else "".join(_PARTS.findall(plain))


def _parts(plain: str) -> list[str]:
    """Return the letters and digits of a text that stand together."""
    parts = plain.replace("-", " ").replace(".", " ").replace("_", " ").split()
    return parts if all(map(str.isalnum, parts)) else _PARTS.findall(plain)


@lru_cache(maxsize=1024)  # the members of one card follow each other, and names of members recur
def _names(texts: tuple[str | None, ...]) -> frozenset[str]:
    found: set[str] = set()
    for text in texts:
        if text:
            parts = _parts(text.lower())
            found.update(parts)
            found.add("".join(parts))
    return frozenset(word for word in found if len(word) >= _SHORTEST)
