"""Remedies that name the nearest known word."""

from auditor.record.nearest import close_word, nearest

MANY = [f"setting_{letter}" for letter in "abcdefghijklmnop"]


def test_a_misspelt_word_gets_its_neighbour() -> None:
    """One letter off is still recognised."""
    assert nearest("telnt", ["telnet", "ssh"]) == "Did you mean telnet?"


def test_a_word_near_to_none_gets_the_known_ones() -> None:
    """A short list is told whole, sorted."""
    assert nearest("zzz", ["telnet", "ssh"]) == "Known: ssh, telnet."


def test_a_long_list_of_known_words_is_shortened() -> None:
    """Of many known words the remedy names twelve and says how many there are."""
    remedy = nearest("zzz", MANY)
    assert remedy.startswith(f"Known, among {len(MANY)}: ")
    assert remedy.count("setting_") == 12


def test_where_nothing_is_known_the_word_is_to_be_removed() -> None:
    """An object without members has no neighbour to name."""
    assert nearest("zzz", []) == "None is known here: remove it."


def test_a_word_near_to_none_has_no_close_word() -> None:
    """Only a likeness is named: a guess would send somebody the wrong way."""
    assert close_word("critcal", ["critical", "lab"]) == "critical"
    assert close_word("control hall", ["critical", "lab"]) == ""
