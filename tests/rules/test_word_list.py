"""A site's own words: what a file of them may hold, what is told of one that can't be used."""

import pytest

from auditor.errors import RulesetError
from auditor.rules.word_list import LONGEST_WORD, MOST_WORDS, NO_WORDS, WordList, read_word_list

MARKER = "quoll-marker"


def test_words_stand_one_a_line() -> None:
    """Comments and empty lines are passed by, line ends of any system and a byte order mark too."""
    text = "\ufeff# ours\nTankHouse\r\n\nélève 7\nTankHouse\nlast"
    found = read_word_list(text.encode(), "words.txt")
    assert (found.file, found.written) == ("words.txt", ("TankHouse", "élève 7", "last"))
    assert found.words == {"tankhouse", "élève 7", "last"}


def test_a_list_is_known_by_its_words_alone() -> None:
    """Order, case, repetition and comments make no other list; one word more does."""
    names = [read_word_list(text, "w").name for text in (b"a\nb", b"# x\nB\nA\nA\n", b"a\nb\nc", b"ab")]
    assert names[0] == names[1]
    assert len(set(names)) == 3
    assert all(len(name) == 16 for name in names)


@pytest.mark.parametrize(
    ("line", "problem"),
    [
        (MARKER.encode() + b"\xff", "UTF-8"),
        (f"{MARKER}\tb".encode(), "such as a tab"),
        (f"{MARKER}\x00".encode(), "such as a tab"),
        (f" {MARKER}".encode(), "blank"),
        (f"{MARKER} ".encode(), "blank"),
        (MARKER.encode() * LONGEST_WORD, f"{LONGEST_WORD} characters"),
    ],
)
def test_a_line_that_is_no_word_is_told_by_its_number(line: bytes, problem: str) -> None:
    """The fault names file and line, says what to do, and never repeats what the line holds."""
    with pytest.raises(RulesetError) as caught:
        read_word_list(b"# head\ngood\n" + line + b"\ngood\n" + line, "words.txt")
    assert [(fault.file, fault.line) for fault in caught.value.faults] == [("words.txt", 3), ("words.txt", 5)]
    assert all(problem in fault.problem and fault.remedy for fault in caught.value.faults)
    assert MARKER not in str(caught.value)


def test_a_list_without_a_word_is_told() -> None:
    """It is more likely the wrong file than meant."""
    with pytest.raises(RulesetError, match="no word is in it"):
        read_word_list(b"# nothing\n\n", "words.txt")


def test_a_list_has_an_end() -> None:
    """The first word too many is told, once."""
    lines = "\n".join(str(number) for number in range(MOST_WORDS + 2))
    with pytest.raises(RulesetError) as caught:
        read_word_list(lines.encode(), "words.txt")
    assert [fault.line for fault in caught.value.faults] == [MOST_WORDS + 1]


def test_words_stay_out_of_every_text_of_a_list() -> None:
    """Neither a message nor a traceback that shows a list shows its words."""
    assert MARKER not in repr(read_word_list(MARKER.encode(), "words.txt"))
    assert WordList() == NO_WORDS
