"""A site's own list of words that count as well known: one a line, in a file that only the site sees.

Holds no judgement of a secret. No word of the list ever reaches an output.
"""

from collections.abc import Iterator
from hashlib import sha256
from typing import Final

from auditor.dataclass import dataclass, field
from auditor.errors import Fault, RulesetError

MOST_WORDS: Final = 10_000
"""For each localized key of an estate a word costs a million octets of hashing a run; our own figure."""

LONGEST_WORD: Final = 256
"""In characters; our own figure."""

_NAME_DIGITS: Final = 16
_MARK: Final = b"\xef\xbb\xbf"


@dataclass(frozen=True, slots=True)
class WordList:
    """A site's own words, as they are written, in the order of the file; none without a file.

    ``name`` is a digest of the words, whatever their order, case and repetition: it says of two
    runs whether they used the same words.
    """

    file: str = ""
    written: tuple[str, ...] = field(default=(), repr=False)
    name: str = ""

    @property
    def words(self) -> frozenset[str]:
        """The words in lower case, as secrets are compared with them."""
        return frozenset(word.lower() for word in self.written)


NO_WORDS: Final = WordList()
"""What a site without a list has."""


def read_word_list(text: bytes, file: str) -> WordList:
    """Return the words of a file: UTF-8, one a line; empty lines and lines that begin with # are passed by.

    Raises:
        RulesetError: with every fault of the file, by line. None repeats what the line holds.
    """
    faults = [Fault(file, "", line, 0, problem, remedy) for line, problem, remedy in _faults(text)]
    if faults:
        raise RulesetError(faults)
    written = tuple(dict.fromkeys(word for _, word in _words(text)))
    if not written:
        raise RulesetError(
            [Fault(file, "", 0, 0, "no word is in it", "Write one word a line, or name no list.")]
        )
    listed = "\n".join(sorted({word.lower() for word in written}))
    return WordList(file, written, sha256(listed.encode()).hexdigest()[:_NAME_DIGITS])


def _lines(text: bytes) -> Iterator[tuple[int, bytes]]:
    """Yield the lines that hold words, with their numbers from 1."""
    for number, line in enumerate(text.removeprefix(_MARK).split(b"\n"), 1):
        content = line.removesuffix(b"\r")
        if content and not content.startswith(b"#"):
            yield number, content


def _words(text: bytes) -> Iterator[tuple[int, str]]:
    for number, line in _lines(text):
        yield number, line.decode()


def _faults(text: bytes) -> Iterator[tuple[int, str, str]]:
    """Yield line, problem and remedy of each fault, in file order."""
    for count, (number, line) in enumerate(_lines(text)):
        if count == MOST_WORDS:
            yield number, f"more than {MOST_WORDS} words", "Keep those that the site itself has used or met."
            return
        found = _fault(line)
        if found is not None:
            yield (number, *found)


def _fault(line: bytes) -> tuple[str, str] | None:
    try:
        word = line.decode()
    except UnicodeDecodeError:
        return "expected text in UTF-8; found other bytes", "Save the file as UTF-8."
    if not word.isprintable():
        return (
            "a character that no secret can hold, such as a tab",
            "Write one word a line, and nothing else.",
        )
    if word != word.strip():
        return "a blank at the begin or the end of the word", "Take it away."
    if len(word) > LONGEST_WORD:
        return f"a word of more than {LONGEST_WORD} characters", "Write one word a line."
    return None
