"""Ids of many cards with a label each, packed: a few tens of bytes a card. Knows nothing else of them."""

from array import array


class CardNames:
    """Takes ids with a label, such as a site, and gives them back by number."""

    def __init__(self) -> None:
        """Start with no card."""
        self._ids = bytearray()
        self._ends = array("Q", [0])
        self._labels = array("L", [0])
        self._numbers: dict[str, int] = {}
        self._names: list[str] = []

    def add(self, card_id: str, label: str) -> int:
        """Note a card; return its number, from 1."""
        place = self._numbers.setdefault(label, len(self._names))
        if place == len(self._names):
            self._names.append(label)
        self._ids += card_id.encode()
        self._ends.append(len(self._ids))
        self._labels.append(place)
        return len(self._ends) - 1

    def of(self, number: int) -> tuple[str, str]:
        """Return id and label of a card."""
        start, end = self._ends[number - 1 : number + 1]
        return self._ids[start:end].decode(), self._names[self._labels[number]]
