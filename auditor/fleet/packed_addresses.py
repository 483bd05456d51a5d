"""Addresses of one protocol, each with the number of a card, in few bytes; knows nothing else of them."""

from array import array
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import groupby
from typing import Final

_WORD: Final = 64
_CARD: Final = 32
_PARTS: Final = 64
"""Into so many parts the addresses are spread, so that only a small part is ever unpacked at once."""


class PackedAddresses:
    """Takes addresses one by one and gives back those that several cards have.

    An IPv4 address and its card take one word of 64 bits, an IPv6 address and its card three.
    """

    def __init__(self, bits: int) -> None:
        """Start with none; an address has so many bits, 32 or 128."""
        self._fits_beside_card = bits + _CARD <= _WORD
        self._parts = [array("Q") for _ in range(_PARTS)]

    def add(self, address: int, card: int) -> None:
        """Note that a card has an address; its number must not be lower than those before."""
        part = self._parts[address % _PARTS]
        if self._fits_beside_card:
            part.append(address << _CARD | card)
        else:
            part.extend((address >> _WORD, address & (1 << _WORD) - 1, card))

    def of_several_cards(self) -> Iterator[tuple[int, Sequence[int]]]:
        """Yield each address that several cards have, with their numbers in rising order."""
        for part in self._parts:
            cards: defaultdict[int, array[int]] = defaultdict(_no_cards)
            for address, card in self._unpacked(part):
                cards[address].append(card)
            for address, numbers in cards.items():
                if numbers[0] != numbers[-1]:
                    yield address, array("I", (number for number, _ in groupby(numbers)))

    def _unpacked(self, part: "array[int]") -> Iterator[tuple[int, int]]:
        if self._fits_beside_card:
            return ((word >> _CARD, word & (1 << _CARD) - 1) for word in part)
        words = iter(part)
        return ((high << _WORD | low, card) for high, low, card in zip(words, words, words, strict=True))


def _no_cards() -> "array[int]":
    return array("I")
