"""A memory of what was met first on which card, in eight bytes each, for estates of any size.

What is remembered are digests, never what they were made of. Two different values are taken for
one with a probability of about one in 500 000 for two million of them: 40 bits are compared, at
a place that other bits chose.
"""

from mmap import mmap
from typing import Final

_PLACES: Final = 1 << 22
_LAST: Final = _PLACES - 1
_MOST: Final = _PLACES * 3 // 4
_CARD_BITS: Final = 24
_CARDS: Final = (1 << _CARD_BITS) - 1
_HEAD: Final = ((1 << 64) - 1) ^ _CARDS


class Seen:
    """A table of open addresses: the head of a digest and the number of the card that brought it.

    Its 32 MiB are asked for at once, but the machine gives them page by page as they are filled:
    they are a map of no file, since a ``bytearray`` would write its zeros into every page first.
    """

    def __init__(self) -> None:
        """Begin with nothing met."""
        self._table = memoryview(mmap(-1, 8 * _PLACES)).cast("Q")
        self._filled = 0
        self._more: Seen | None = None

    def meet(self, digest: int, card: int) -> int:
        """Return the number of the card that a digest was met on before; 0 where it is new.

        ``digest`` has 64 bits; cards are numbered from 1, up to 2^24.
        """
        table, place, head = self._table, digest & _LAST, digest & _HEAD
        while entry := table[place]:
            if entry & _HEAD == head:
                return entry & _CARDS
            place = (place + 1) & _LAST
        if self._filled == _MOST:
            self._more = self._more or Seen()
            return self._more.meet(digest, card)
        table[place] = head | card
        self._filled += 1
        return 0
