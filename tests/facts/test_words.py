"""The shipped list of well-known secrets."""

from importlib.resources import files

import pytest
from zxcvbn import zxcvbn  # type: ignore[import-untyped]  # ships no types
from zxcvbn.frequency_lists import FREQUENCY_LISTS  # type: ignore[import-untyped]

from auditor.facts.words import well_known_words

TEXT = files("auditor.facts").joinpath("well-known-words.txt").read_text("utf-8")


def section(name: str) -> list[str]:
    """Return the words of one section of the file."""
    body = TEXT.split(f"# section: {name}\n")[1].split("# section:")[0]
    return [line for line in body.splitlines() if line]


GENERAL, TRADE = section("general"), section("trade")


def test_the_list_is_the_two_sections_and_nothing_else() -> None:
    """Every word stands in one section, once, in lower case and without spaces around it."""
    assert sorted(GENERAL + TRADE) == sorted(well_known_words())
    assert all(word == word.strip().lower() for word in well_known_words())
    assert 200 <= len(well_known_words()) <= 400


@pytest.mark.parametrize("word", GENERAL)
def test_general_words_are_guessed_at_once(word: str) -> None:
    """The reference library for password strength gives each general word 0 or 1 of 4.

    Source: zxcvbn (a score of 1 is "very guessable", under a million guesses).
    """
    assert zxcvbn(word)["score"] <= 1


def test_most_general_words_stand_in_the_frequency_lists() -> None:
    """Three of four stand in a list of zxcvbn; the others are runs and repeats, which it finds by pattern."""
    listed = set().union(*FREQUENCY_LISTS.values())
    missing = [word for word in GENERAL if word not in listed]
    assert len(missing) <= len(GENERAL) / 4
    assert all(zxcvbn(word)["score"] <= 1 for word in missing)


@pytest.mark.parametrize("word", ["admin", "password", "public", "private", "12345678", "service", "snmp"])
def test_the_first_words_that_are_tried_are_listed(word: str) -> None:
    """Delivered passwords and communities of the trade are there; common practice, no source."""
    assert word in well_known_words()


def test_the_file_names_its_version_and_sources() -> None:
    """A shipped data file says which version it is and where its words come from."""
    head = TEXT.split("# section:")[0]
    assert "version 2026.11" in head
    assert "Source of" in head
