"""The fast proof that a text takes many guesses, held against zxcvbn itself and its data."""

import itertools
import random
import string
from itertools import pairwise

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from zxcvbn import zxcvbn  # type: ignore[import-untyped]  # ships no types
from zxcvbn.adjacency_graphs import ADJACENCY_GRAPHS  # type: ignore[import-untyped]
from zxcvbn.frequency_lists import FREQUENCY_LISTS  # type: ignore[import-untyped]
from zxcvbn.matching import L33T_TABLE, spatial_match  # type: ignore[import-untyped]

from auditor.facts import guess_screen
from auditor.facts.guess_screen import HYPHENATED, LIKENESS, proven_power

PIECES = st.one_of(
    st.sampled_from([w for words in FREQUENCY_LISTS.values() for w in words[:300]]),
    st.sampled_from(
        ["qwerty", "op-", "p-[", "close-up", "1-oct", "abc", "aaa", "2012", "1/2/99", "- ", "Ladder"]
    ),
    st.text("abpsz014-. @", min_size=1, max_size=6),
    st.integers(0, 99).map(str),
)
JOINED = st.lists(st.tuples(PIECES, st.sampled_from(["-", " ", "", "-"])), min_size=2, max_size=7).map(
    lambda parts: "".join(piece + between for piece, between in parts)[:40]
)
RANDOM = st.text(string.ascii_letters + string.digits + "!-", min_size=13, max_size=30)


@settings(max_examples=150, deadline=None)
@given(st.one_of(JOINED, RANDOM))
def test_no_proof_says_more_than_zxcvbn(text: str) -> None:
    """Whatever the text, zxcvbn finds no cheaper cover than the proof allows."""
    power = proven_power(text)
    assume(power)
    assert zxcvbn(text)["guesses"] >= 10**power


def test_most_good_secrets_are_proved_at_once() -> None:
    """Random texts, and words by lot with hyphens between, seldom need the slow estimate."""
    chance = random.Random(4)  # noqa: S311 - texts for a count, no secrets
    letters = string.ascii_letters + string.digits
    texts = ["".join(chance.choices(letters, k=20)) for _ in range(200)]
    assert sum(proven_power(text) >= 11 for text in texts) > 160
    words = ["Kestrel", "ladder", "quartz", "harbour", "Meadow", "lantern", "gravel", "button"]
    phrases = ["-".join(chance.sample(words, 4)) for _ in range(200)]
    assert sum(proven_power(phrase) >= 8 for phrase in phrases) > 190


@pytest.mark.parametrize(
    "text",
    ["", "a", "password", "x" * 40, "-----", "hip-hop-close-up", "kö-ln-wört-er-x", "qwertyuiop-asdfghjkl"],
)
def test_nothing_is_proved_of_cheap_or_foreign_texts(text: str) -> None:
    """No proof is an honest answer: the estimate decides."""
    assert proven_power(text) == 0


def test_no_run_of_keys_crosses_a_cut() -> None:
    """All texts of three keys with a hyphen or a blank and one of its neighbours inside.

    A longer run holds such a shorter one. No key but p, s and z lies beside the hyphen.
    """
    keys = sorted({char for graph in ADJACENCY_GRAPHS.values() for key in graph for char in key} | {" "})
    triples = [
        "".join(order)
        for char in keys
        for pair in itertools.product("pszPSZkK", "- ")
        for order in itertools.permutations((char, *pair))
    ]
    crossing = [
        text
        for text in triples
        for run in spatial_match(text)
        if any(run["i"] < cut <= run["j"] for cut in itertools.accumulate(guess_screen._sizes(text)[:-1]))  # noqa: SLF001
    ]
    assert (len(triples), crossing) == (len(keys) * 16 * 6, [])
    near = (keys for graph in ADJACENCY_GRAPHS.values() for keys in graph["-"] if keys)
    assert {char.lower() for keys in near for char in keys if char.isalpha()} == set("psz")


def test_only_the_named_words_cross_a_cut() -> None:
    """No other listed word has a letter beside a hyphen or a blank."""
    crossing = {
        word
        for words in FREQUENCY_LISTS.values()
        for word in words
        for pair in pairwise(word)
        if any(sign in pair for sign in "- ") and any(char.isalpha() for char in pair)
    }
    assert crossing == set(HYPHENATED)


def test_all_disguises_are_alike() -> None:
    """Every sign that zxcvbn reads as a letter is made like that letter."""
    for letter, signs in L33T_TABLE.items():
        assert {sign.translate(LIKENESS) for sign in signs} == {letter.translate(LIKENESS)}
