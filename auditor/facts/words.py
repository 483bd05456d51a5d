"""The well-known secrets that come with the tool; holds no judgement of a secret."""

from functools import cache

from auditor.packaged import packaged


@cache
def well_known_words() -> frozenset[str]:
    """Return the shipped list of well-known secrets, lower case.

    Source: the head of ``well-known-words.txt`` beside this file, which also carries a version.
    """
    text = packaged("facts", "well-known-words.txt").read_text("utf-8")
    return frozenset(line for line in text.splitlines() if line and not line.startswith("#"))
