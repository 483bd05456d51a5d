"""Which card ids were met, and where, in a few tens of bytes each, for estates of any size.

Ids are kept as 64-bit hashes in short sorted arrays. Two different ids among 100 000 share a
hash with a probability below 1 in 3 000 million (birthday bound, n² / 2⁶⁵).
"""

from array import array
from bisect import bisect_left

_SHELVES = 1024


class CardIds:
    """The card ids met so far."""

    def __init__(self) -> None:
        """Begin with none."""
        self._hashes = [array("q") for _ in range(_SHELVES)]
        self._places = [array("q") for _ in range(_SHELVES)]
        self._files = _FileNames()

    def add(self, card_id: str, file: str, line: int) -> tuple[str, int] | None:
        """Note where a card id stands; return file and line of the first if it was met before."""
        key = hash(card_id)
        hashes, places = self._hashes[key % _SHELVES], self._places[key % _SHELVES]
        at = bisect_left(hashes, key)
        if at < len(hashes) and hashes[at] == key:
            return self._files.name(places[at] >> 32), places[at] & 0xFFFFFFFF
        hashes.insert(at, key)
        places.insert(at, self._files.number(file) << 32 | line)
        return None


class _FileNames:
    """File names by number, packed: a folder once, then the rest of each name as bytes."""

    def __init__(self) -> None:
        self._folders: list[str] = []
        self._folder_numbers: dict[str, int] = {}
        self._folder_of = array("I")
        self._starts = array("Q", [0])
        self._rests = bytearray()
        self._last = ""

    def number(self, file: str) -> int:
        """Return the number of a file; one file's records come one after the other."""
        if file != self._last or not self._folder_of:
            self._last = file
            folder, slash, rest = file.rpartition("/")
            number = self._folder_numbers.setdefault(folder + slash, len(self._folders))
            if number == len(self._folders):
                self._folders.append(folder + slash)
            self._folder_of.append(number)
            self._rests += rest.encode()
            self._starts.append(len(self._rests))
        return len(self._folder_of) - 1

    def name(self, number: int) -> str:
        """Return the name of a file by its number."""
        folder = self._folders[self._folder_of[number]]
        return folder + self._rests[self._starts[number] : self._starts[number + 1]].decode()
