"""How many guesses a secret withstands, in bands. Holds no facts.

The estimate is zxcvbn's. It costs milliseconds a secret, an audit a fraction of one: so a
secret is first screened for a proof that it is strong enough, and estimates are kept.
"""

from enum import StrEnum
from functools import lru_cache
from typing import Any, Final

from auditor.facts.own_names import OwnNames
from auditor.facts.secret_class import Secret, text_of

LONGEST: Final = 40
"""So many characters are looked at: the work of zxcvbn grows steeply, and its own limit is 72.

What follows can only make a secret harder to guess."""


class GuessBand(StrEnum):
    """By what kind of guessing a secret falls; each band is named by the weakest that reaches it.

    The limits are our own, argued from published figures where there are any.

    ``online``, fewer than 10^8 guesses: at the login itself. NIST SP 800-63B (revision 3)
    section 5.2.2 allows 100 failures on end; the baseline lets 1000 guesses a day through,
    which makes a million in three years, and the same secret on a hundred cards lets each be
    tried: 10^8.

    ``offline_slow``, fewer than 10^11: on a captured SNMPv3 message or a salted hash. Each
    guess costs a million octets of hashing (RFC 3414 A.2) or thousands of rounds; a million
    guesses a second on one graphics processor (common practice, no source) make 10^11 in a
    day. A port that answers a thousand guesses a second and never locks, as that of SNMP
    v1 and v2c, takes three years for as many.

    ``offline_fast``, fewer than 10^15: on a captured RADIUS packet. Each guess costs one MD5
    (RFC 2865 section 3); ten thousand million a second (common practice, no source) make
    10^15 in a day.

    ``beyond``: none of these.
    """

    ONLINE = "online"
    OFFLINE_SLOW = "offline_slow"
    OFFLINE_FAST = "offline_fast"
    BEYOND = "beyond"


POWERS: Final = {GuessBand.ONLINE: 8, GuessBand.OFFLINE_SLOW: 11, GuessBand.OFFLINE_FAST: 15}
"""Guesses at which each band ends, as exponents of ten."""

_ORDER: Final = tuple(GuessBand)


def guess_band(text: str, names: OwnNames) -> GuessBand:
    """Return the band of a text, the card's own names counted as words that are tried first.

    The empty text is ``online``.
    """
    guesses = _guesses(text[:LONGEST], _names_in(text, names))
    return next((band for band, power in POWERS.items() if guesses < 10**power), GuessBand.BEYOND)


def withstands(secret: Secret, names: OwnNames, guessing: GuessBand) -> bool | None:
    """Return whether a secret lies above the band of a kind of guessing.

    Unknown for hashes and keys, for a sealed secret without its band, and where the secret
    seems strong but a name of the card that it may hold was not captured.
    """
    above = _is_above(secret, names, guessing) if secret else None
    return None if above and not names.are_complete else above


def _is_above(secret: dict[str, Any], names: OwnNames, guessing: GuessBand) -> bool | None:
    text = text_of(secret)
    if text is not None:
        return _reaches(text, names, POWERS[guessing])
    band = secret["sealed"].get("guess_band") if "sealed" in secret else None
    return None if band is None else _ORDER.index(GuessBand(band)) > _ORDER.index(guessing)


def _reaches(text: str, names: OwnNames, power: int) -> bool:
    head, inside = text[:LONGEST], _names_in(text, names)
    return (not inside and _proven_power(head) >= power) or _guesses(head, inside) >= 10**power


def _names_in(text: str, names: OwnNames) -> tuple[str, ...]:
    """Return the names that a text may hold, in any disguise; only these can change an estimate.

    Longest first, ties by spelling: the estimate counts the place of a word among them.
    """
    from auditor.facts.guess_screen import LIKENESS  # many patterns, needed for estimates only

    alike = text.lower().translate(LIKENESS)
    backwards = alike[::-1]
    disguised = ((name, name.translate(LIKENESS)) for name in names.words)
    found = (name for name, likely in disguised if likely in alike or likely in backwards)
    return tuple(sorted(found, key=lambda name: (-len(name), name)))


@lru_cache(maxsize=4096)
def _proven_power(text: str) -> int:
    from auditor.facts.guess_screen import proven_power  # as above

    return proven_power(text)


@lru_cache(maxsize=4096)
def _guesses(text: str, names: tuple[str, ...]) -> int:
    """Estimate the guesses; the library and its lists are heavy, so imported here."""
    if not text:
        return 0
    from zxcvbn import zxcvbn  # type: ignore[import-untyped]

    return int(zxcvbn(text, user_inputs=list(names))["guesses"])
