"""Password hashes in crypt form: which scheme, how good, and whether a default opens them.

Holds no facts. A hash is never shown: only what may be said of it.
"""

import re
from collections.abc import Iterable
from enum import StrEnum
from functools import lru_cache
from typing import Final

from auditor.dataclass import dataclass
from auditor.facts import yescrypt

SHORT_LIST: Final = ("admin", "password", "changeme", "default", "12345678", "1234", "root", "user")
"""Words that a hash is tried with, beside the account's own name.

Source: common practice, no source. A hash is slow by design: few words, or an estate takes days.
"""

MOST_SHA_ROUNDS: Final = 10_000
MOST_BCRYPT_COST: Final = 10
"""A dearer hash is not tried: about 20 ms (SHA) or 100 ms (bcrypt) a word. Own measurement."""

_LEAST_BCRYPT_COST: Final = 10
"""Source: common practice, no source."""

_USUAL_SHA_ROUNDS: Final = 5000
"""Rounds of a hash that states none: the default of the SHA methods of crypt. From memory."""

_LEAST_SHA_ROUNDS: Final = 1000
"""Makers of hashes raise fewer rounds to this: a hash that states fewer is none. From memory."""

_CHEAPEST_BCRYPT: Final = 4
"""The least cost that bcrypt has. From memory."""

_BCRYPT_OCTETS: Final = 72
"""bcrypt reads no more of a password. From memory."""


class Grade(StrEnum):
    """How well a scheme keeps a password from somebody who holds the hash."""

    WEAK = "weak"
    ACCEPTABLE = "acceptable"
    STRONG = "strong"


@dataclass(frozen=True, slots=True)
class Scheme:
    """What a crypt hash says of its making.

    ``cost`` is the number of rounds (SHA), the exponent of two (bcrypt), else 0. ``can_be_tried`` tells
    whether a word may be tried on it with bounded work.
    """

    name: str
    grade: Grade
    cost: int = 0
    can_be_tried: bool = False


_SHA: Final = re.compile(r"\$([56])\$(?:rounds=([0-9]{1,9})\$)?[^$]{0,16}\$[./0-9A-Za-z]+\Z")
_MD5: Final = re.compile(r"\$1\$[^$]{0,8}\$[./0-9A-Za-z]{22}\Z")
_BCRYPT: Final = re.compile(r"\$2[abxy]?\$([0-9]{2})\$[./0-9A-Za-z]{53}\Z")
_SHA_OCTETS: Final = {"5": 43, "6": 86}


def scheme_of(crypt: str) -> Scheme | None:
    """Return the scheme of a crypt hash; None where the prefix is not known, or is clear text.

    Source: RFC 7317, module iana-crypt-hash ($1$, $5$, $6$); the prefixes of bcrypt and
    yescrypt are common practice. Grades: MD5 is fast to search; SHA with its usual 5000 rounds
    is slow enough for a good password; bcrypt and yescrypt are made to be slow.
    """
    match crypt.split("$", 2)[1:2]:
        case ["1"]:
            return Scheme("md5", Grade.WEAK, can_be_tried=bool(_MD5.match(crypt)))
        case ["5" | "6" as digit]:
            return _sha_scheme(crypt, digit)
        case ["2" | "2a" | "2b" | "2x" | "2y"]:
            return _bcrypt_scheme(crypt)
        case ["y"]:
            return Scheme("yescrypt", Grade.STRONG, can_be_tried=yescrypt.can_be_tried(crypt))
        case ["gy" | "7"]:
            return Scheme("yescrypt", Grade.STRONG)
    return None


def opens_with(crypt: str, words: Iterable[str]) -> bool | None:
    """Return whether one of the words is the password; None where they can't be tried.

    Bounded: a hash with more rounds than ``MOST_SHA_ROUNDS`` or ``MOST_BCRYPT_COST`` is not
    tried, nor a yescrypt hash above the usual cost of systems, or where no library knows it.
    False says no more than that none of these words opens it.
    """
    scheme = scheme_of(crypt)
    if scheme is None or not scheme.can_be_tried:
        return None
    try:
        return any(_opens(crypt, word) for word in words if "\0" not in word)
    except ValueError:
        return None  # the form is right, but its letters are no salt or hash


@lru_cache(maxsize=4096)
def _opens(crypt: str, word: str) -> bool:
    """Try one word. The libraries are heavy: they are imported where a hash is tried."""
    if crypt.startswith("$y"):
        return yescrypt.opens(crypt, word)
    if crypt.startswith("$2"):
        import bcrypt

        return bcrypt.checkpw(word.encode()[:_BCRYPT_OCTETS], crypt.encode("ascii"))
    from passlib import hash as schemes  # type: ignore[import-untyped]

    by_prefix = {"$1$": schemes.md5_crypt, "$5$": schemes.sha256_crypt, "$6$": schemes.sha512_crypt}
    return bool(by_prefix[crypt[:3]].verify(word, crypt))


def _sha_scheme(crypt: str, digit: str) -> Scheme:
    name = "sha256" if digit == "5" else "sha512"
    parts = _SHA.match(crypt)
    if parts is None:
        return Scheme(name, Grade.ACCEPTABLE)
    rounds = int(parts[2] or _USUAL_SHA_ROUNDS)
    grade = Grade.ACCEPTABLE if rounds >= _USUAL_SHA_ROUNDS else Grade.WEAK
    is_whole = len(crypt) - crypt.rindex("$") - 1 == _SHA_OCTETS[digit]
    return Scheme(name, grade, rounds, is_whole and _LEAST_SHA_ROUNDS <= rounds <= MOST_SHA_ROUNDS)


def _bcrypt_scheme(crypt: str) -> Scheme:
    parts = _BCRYPT.match(crypt)
    if parts is None:
        return Scheme("bcrypt", Grade.STRONG)
    cost = int(parts[1])
    grade = Grade.STRONG if cost >= _LEAST_BCRYPT_COST else Grade.ACCEPTABLE
    is_known = crypt[:4] in {"$2a$", "$2b$", "$2y$"}
    return Scheme("bcrypt", grade, cost, is_known and _CHEAPEST_BCRYPT <= cost <= MOST_BCRYPT_COST)
