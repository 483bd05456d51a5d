"""Names of many cards, packed: a few tens of bytes a card. Knows nothing else of them."""

from array import array
from typing import NamedTuple


class CardName(NamedTuple):
    """How a card is called, what it feeds, and its site; empty where the record does not tell."""

    id: str
    feeds: str
    site: str


class CardNames:
    """Takes the names of cards and gives them back by number."""

    def __init__(self) -> None:
        """Start with no card."""
        self._ids = bytearray()
        self._ends = array("I", [0])
        self._places = array("I", [0])
        self._numbers: dict[tuple[str, str], int] = {}
        self._kinds: list[tuple[str, str]] = []

    def add(self, name: CardName) -> int:
        """Note a card; return its number, from 1."""
        card_id, feeds, site = name
        place = self._numbers.setdefault((feeds, site), len(self._kinds))
        if place == len(self._kinds):
            self._kinds.append((feeds, site))
        self._ids += card_id.encode()
        self._ends.append(len(self._ids))
        self._places.append(place)
        return len(self._ends) - 1

    def of(self, number: int) -> CardName:
        """Return the names of a card."""
        start, end = self._ends[number - 1 : number + 1]
        return CardName(self._ids[start:end].decode(), *self._kinds[self._places[number]])
