"""A fast proof that a text takes many guesses, where there is one; finds no weakness.

``zxcvbn`` covers a text by matches (a listed word, a run of keys, a date, a repetition, or
characters tried out) and takes ``l! * product + 10000 ** (l - 1)`` guesses for ``l`` of them,
where a match takes 10 at least and tried-out characters 10 each. So a text that can't be
covered by few matches is safe without looking for the best cover. A test holds every proof
against ``zxcvbn`` itself, and the constants below against the data that come with it.

Source: D. Wheeler, zxcvbn (USENIX Security 2016), and the code of the zxcvbn package.
"""

import re
from functools import cache
from itertools import chain, pairwise
from typing import Final, NamedTuple

LIKENESS: Final = str.maketrans("4@8({[<3691!|7+0$5%2lt", "aabcccceggiiiiiossxzii")
"""Makes characters equal that zxcvbn may read as the same letter, so no disguise is missed."""

# No match goes over a cut: a place where a letter meets a blank, or a hyphen. On every keyboard
# layout that is known, p, s and z lie beside the hyphen, so next to them there is no cut.
_CUT: Final = re.compile(
    r"(?<=[A-Za-z])(?= )|(?<= )(?=[A-Za-z])|(?<=[A-OQRT-Ya-oqrt-y])(?=-)|(?<=-)(?=[A-OQRT-Ya-oqrt-y])"
)
_LONG_REPEAT: Final = re.compile(r"(..+)\1")

HYPHENATED: Final = (
    "close-up", "hip-hop", "cool-ca", "1-oct", "state-of-the-art", "two-and-a-half", "three-and-a-half",
    "first-past-the-post", "nord-pas-de-calais", "four-and-a-half", "one-of-a-kind", "one-and-a-half",
)  # fmt: skip
"""The only listed words that go over a cut."""

_DISGUISED: Final = tuple(
    chain.from_iterable((word.translate(LIKENESS), word[::-1].translate(LIKENESS)) for word in HYPHENATED)
)

_GRAM: Final = 6
_LONG_MATCH: Final = re.compile(r"(.)\1{5}|(..)\2\2|(...+)\3|\d{6}|([\s/\\_.-])\d{1,2}\4", re.ASCII)
"""A repetition of six characters or more, or what a date of six characters must hold."""

_STEADY: Final = re.compile(rb"(.)\1{4}", re.DOTALL)
"""Five equal steps: a sequence of six characters."""


class _Lists(NamedTuple):
    """Heads of all listed words of six characters or more; pairs of keys that lie together."""

    heads: frozenset[str]
    pairs: frozenset[str]


def proven_power(text: str) -> int:
    """Return an exponent of ten that the guesses of a text surely reach: 15, 11, 8, or 0 for no proof.

    The text must hold none of the card's own names.
    """
    if not text.isascii():
        return 0
    return _power_by_cuts(text) or _power_by_short_matches(text)


def _power_by_cuts(text: str) -> int:
    """Prove by pieces: every match that is not tried out lies in one piece.

    With fewer matches than pieces, tried-out characters cover whole pieces. The figures are
    the least that makes each such cover dear enough.
    """
    sizes = _sizes(text)
    if len(sizes) < 3 or _LONG_REPEAT.search(text):  # noqa: PLR2004 - three matches take 10000 ** 2
        return 0
    alike = text.lower().translate(LIKENESS)
    if any(word in alike for word in _DISGUISED):
        return 0
    *_, second, first = sorted(sizes)
    rest, least = len(text) - first, len(text) - first - second
    if len(sizes) >= 7 and rest >= 14 and least >= 13 and _least_run(sizes, 4) >= 11:  # noqa: PLR2004
        return 15
    if len(sizes) >= 5 and rest >= 10 and _least_run(sizes, 3) >= 9:  # noqa: PLR2004
        return 11
    return 8 if rest >= 8 else 0  # noqa: PLR2004


def _sizes(text: str) -> list[int]:
    cuts = [0, *(cut.start() for cut in _CUT.finditer(text)), len(text)]
    return [end - begin for begin, end in pairwise(cuts)]


def _least_run(sizes: list[int], count: int) -> int:
    return min(sum(sizes[start : start + count]) for start in range(len(sizes) - count + 1))


def _power_by_short_matches(text: str) -> int:
    """Prove for random-looking texts, in which no match has six characters.

    Of so long a text, few matches leave so many characters to be tried out.
    """
    size = len(text)
    if size < 13 or _LONG_MATCH.search(text) or _may_hold_long_match(text):  # noqa: PLR2004
        return 0
    if size >= 24:  # noqa: PLR2004
        return 15
    return 11 if size >= 17 else 8  # noqa: PLR2004


def _may_hold_long_match(text: str) -> bool:
    heads, pairs = _lists()
    lower = text.lower()
    alike = lower.translate(LIKENESS)
    if any(alike[start : start + _GRAM] in heads for start in range(len(alike) - _GRAM + 1)):
        return True
    together = bytes(lower[at : at + 2] in pairs for at in range(len(lower) - 1))
    steps = bytes((after - before) & 255 for before, after in pairwise(text.encode("ascii")))
    return b"\1\1\1\1\1" in together or _STEADY.search(steps) is not None


@cache
def _lists() -> _Lists:
    """Read zxcvbn's lists once; forwards and backwards, since it finds reversed words too."""
    from zxcvbn.adjacency_graphs import ADJACENCY_GRAPHS  # type: ignore[import-untyped]
    from zxcvbn.frequency_lists import FREQUENCY_LISTS  # type: ignore[import-untyped]

    listed = "\n".join(chain.from_iterable(FREQUENCY_LISTS.values())).lower().translate(LIKENESS)
    words = chain(listed.split("\n"), listed[::-1].split("\n"))
    heads = frozenset(word[:_GRAM] for word in words if len(word) >= _GRAM)
    pairs = frozenset(
        (key + char).lower()
        for graph in ADJACENCY_GRAPHS.values()
        for key, beside in graph.items()
        for char in "".join(filter(None, beside))
    )
    return _Lists(heads, pairs)
