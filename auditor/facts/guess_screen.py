"""A fast proof that a text takes many guesses, where there is one; finds no weakness.

``zxcvbn`` covers a text by matches (a listed word, a run of keys, a date, a repetition, or
characters tried out) and takes ``l! * product + 10000 ** (l - 1)`` guesses for ``l`` of them,
where a match takes 50 at least (10 if it is one character) and tried-out characters 10 each.
So a text that can't be covered by few matches is safe without looking for the best cover. A
test holds every proof against ``zxcvbn`` itself, and the constants below against its data.

Source: D. Wheeler, zxcvbn (USENIX Security 2016), and the code of the zxcvbn package.
"""

import re
from collections.abc import Mapping, Sequence
from functools import cache
from itertools import chain, pairwise
from math import factorial, log10
from typing import Final, NamedTuple

LIKENESS: Final = str.maketrans("4@8({[<3691!|7+0$5%2lt", "aabcccceggiiiiiossxzii")
"""Makes characters equal that zxcvbn may read as the same letter, so no disguise is missed."""

# No match goes over a cut: a place where a letter meets a blank, or a hyphen. A run of keys has
# three at least, and on the layouts that are known only p, s and z lie beside the hyphen: next
# to them there is no cut where the character before or after lies close enough to go on.
_BY_HYPHEN: Final = r"[)*+/069=?\[{psz]"
_BY_P, _BY_S, _BY_Z = r"[elouy$%)\-.045:;>\[_{]", r"[adelnvwxz/?_\-]", r"[asvx_\-]"
_CUT: Final = re.compile(
    r"(?<=[a-z])(?= )|(?<= )(?=[a-z])|(?<=[a-oqrt-y])(?=-)|(?<=-)(?=[a-oqrt-y])"
    rf"|(?<=[psz])(?<!{_BY_P}p)(?<!{_BY_S}s)(?<!{_BY_Z}z)(?=-(?!{_BY_HYPHEN}))"
    rf"|(?<=-)(?<!{_BY_HYPHEN}-)(?=p(?!{_BY_P})|s(?!{_BY_S})|z(?!{_BY_Z}))",
    re.IGNORECASE | re.ASCII,
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

_LEAST_OF_MANY: Final = log10(50)
"""What a match of several characters takes at least, as an exponent; one of a single character takes 1."""


class _Counted(NamedTuple):
    """A power, and up to how many matches a cover may stay below it: 10000 ** matches reaches it."""

    power: int
    matches: int


_COUNTED: Final = (_Counted(15, 4), _Counted(11, 3), _Counted(8, 2))

_DATE: Final = r"([\s/\\_.-])\d{1,2}\1"
"""What a date with signs between its parts must hold."""


class _Level(NamedTuple):
    """A length of match, and what a text holds that may have a match of this length or more."""

    length: int
    doubtful: re.Pattern[str]
    steady: re.Pattern[bytes]


# Per length: repetitions of it, a date of so many digits, and so many equal steps as make a sequence.
_LEVELS: Final = (
    _Level(
        6,
        re.compile(_DATE + r"|(.)\2{5}|(..)\3\3|(...+)\4|\d{6}", re.ASCII),
        re.compile(rb"(.)\1{4}", re.DOTALL),
    ),
    _Level(
        8,
        re.compile(_DATE + r"|(.)\2{7}|(..)\3{3}|(...)\4\4|(....+)\5|\d{8}", re.ASCII),
        re.compile(rb"(.)\1{6}", re.DOTALL),
    ),
)


class _Lists(NamedTuple):
    """Heads of the listed words, by length; pairs of keys that lie together."""

    heads: Mapping[int, frozenset[str]]
    pairs: frozenset[str]


def proven_power(text: str) -> int:
    """Return an exponent of ten that the guesses of a text surely reach: 15, 11, 8, or 0 for no proof.

    The text must hold none of the card's own names.
    """
    if not text.isascii():
        return 0
    return _power_by_cuts(text) or _power_by_short_matches(text)


def _power_by_cuts(text: str) -> int:
    """Prove by pieces: every match that is not tried out lies in one piece."""
    sizes = _sizes(text)
    if len(sizes) <= _COUNTED[-1].matches or _LONG_REPEAT.search(text):
        return 0
    alike = text.lower().translate(LIKENESS)
    if any(word in alike for word in _DISGUISED):
        return 0
    return _power(len(text), sorted(map(_saved, sizes), reverse=True), fewest=len(sizes))


def _power_by_short_matches(text: str) -> int:
    """Prove for random-looking texts, in which every match is shorter than six or eight characters."""
    return next(
        (
            power
            for level in _LEVELS
            if (power := _power_of_short(len(text), level.length - 1)) and not _may_match(text, level)
        ),
        0,
    )


def _power_of_short(size: int, longest: int) -> int:
    return _power(size, [_saved(longest)] * _COUNTED[0].matches, fewest=-(-size // longest))


def _saved(size: int) -> float:
    """Return how many tried-out characters a match of a size stands for, less what it costs itself."""
    return size - (_LEAST_OF_MANY if size > 1 else 1)


def _power(size: int, saved: Sequence[float], *, fewest: int) -> int:
    """Return the greatest power that no cover of a text stays below.

    ``saved`` is what each match saves at most, the most first; ``fewest`` is how many matches it
    takes to cover the text without trying anything out. More matches than are counted are
    dear enough by their number alone; fewer leave something to be tried out.
    """
    for power, matches in _COUNTED:
        if fewest > matches and all(
            size - sum(saved[: count - 1]) + log10(factorial(count)) >= power
            for count in range(1, matches + 1)
        ):
            return power
    return 0


def _sizes(text: str) -> list[int]:
    cuts = [0, *(cut.start() for cut in _CUT.finditer(text)), len(text)]
    return [end - begin for begin, end in pairwise(cuts)]


def _may_match(text: str, level: _Level) -> bool:
    """Tell whether some match may have the level's length, or more."""
    if level.doubtful.search(text):
        return True
    lists, lower = _lists(), text.lower()
    alike, heads = lower.translate(LIKENESS), lists.heads[level.length]
    if any(alike[start : start + level.length] in heads for start in range(len(alike) - level.length + 1)):
        return True
    together = bytes(lower[at : at + 2] in lists.pairs for at in range(len(lower) - 1))
    steps = bytes((after - before) & 255 for before, after in pairwise(text.encode("ascii")))
    return b"\1" * (level.length - 1) in together or level.steady.search(steps) is not None


@cache
def _lists() -> _Lists:
    """Read zxcvbn's lists once; forwards and backwards, since it finds reversed words too."""
    from zxcvbn.adjacency_graphs import ADJACENCY_GRAPHS  # type: ignore[import-untyped]
    from zxcvbn.frequency_lists import FREQUENCY_LISTS  # type: ignore[import-untyped]

    listed = "\n".join(chain.from_iterable(FREQUENCY_LISTS.values())).lower().translate(LIKENESS)
    words = listed.split("\n") + listed[::-1].split("\n")
    heads = {
        level.length: frozenset(word[: level.length] for word in words if len(word) >= level.length)
        for level in _LEVELS
    }
    pairs = frozenset(
        (key + char).lower()
        for graph in ADJACENCY_GRAPHS.values()
        for key, beside in graph.items()
        for char in "".join(filter(None, beside))
    )
    return _Lists(heads, pairs)
