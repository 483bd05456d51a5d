"""The words of the frequency lists: common passwords, words of a language, and names of people.

Only digests are kept: sorted heads of SHA-256, five octets each, searched where they lie. So no
word of the lists stands in the package, the file is small, and nothing is decoded. Five
octets make one of 11 million random secrets look common by chance. Holds no judgement.
"""

from bisect import bisect_left
from functools import cache
from hashlib import sha256
from typing import Final

from auditor.packaged import packaged

NAME: Final = "common-words.bin"
"""The file beside this one; its first line says what it holds, from where, under which licence."""

HEAD_OCTETS: Final = 5

LONGEST: Final = 23
"""Characters of the longest word: a longer text needs no search, and the file is not read for it."""


def digest_of(word: str) -> bytes:
    """Return what is kept of a word: the head of the digest of its lower case."""
    return sha256(word.lower().encode()).digest()[:HEAD_OCTETS]


def is_common_word(text: str) -> bool:
    """Return whether a text, whatever its case, stands in the frequency lists.

    Source: the first line of ``common-words.bin``.
    """
    if len(text) > LONGEST:
        return False
    digests, wanted = _digests(), digest_of(text)

    def at(place: int) -> bytes:
        return digests[place * HEAD_OCTETS : (place + 1) * HEAD_OCTETS]

    return at(bisect_left(range(len(digests) // HEAD_OCTETS), wanted, key=at)) == wanted


@cache
def _digests() -> bytes:
    """Read the file once, when the first short secret is looked up."""
    return packaged("facts", NAME).read_bytes().partition(b"\n")[2]
