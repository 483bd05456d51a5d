"""Taking leaves of a tree over into a draft: conversion, loss, and defaults in use."""

from collections.abc import Callable, Iterable, Mapping

from auditor.dataclass import dataclass
from auditor.intake.draft import Draft
from auditor.intake.ietf.data_tree import Node
from auditor.intake.ietf.values import UnfitError, text_of


@dataclass(frozen=True, slots=True)
class Taker:
    """A draft to take leaves into, and whether absent leaves have their default.

    They have in a configuration (RFC 7950 section 7.6.1), not in the operational state
    (RFC 8342 section 5.3). Only defaults inside an entry of a list or a container with
    presence are filled in: those are there in their own right, while a filter (RFC 6241
    section 6) may have left out any other container.
    """

    draft: Draft
    fills: bool

    def take(self, pointer: str, nodes: Iterable[Node], convert: Callable[[str], object] = text_of) -> bool:
        """Put the value of a leaf, and tell whether one was taken; what can't be converted is lost."""
        taken = [self._take(pointer, node, convert) for node in nodes]
        return any(taken)

    def take_or(
        self,
        pointer: str,
        nodes: tuple[Node, ...],
        convert: Callable[[str], object],
        *,
        default: object,
        parent: Node,
    ) -> None:
        """Put the value of a leaf, or its default if the parent is there without it."""
        if nodes:
            self.take(pointer, nodes, convert)
        elif self.fills:
            self.draft.put(pointer, default, parent.origin)

    def take_word(self, pointer: str, nodes: Iterable[Node], words: Mapping[str, str]) -> bool:
        """Put the record's word for a word of the model; a word without one is lost."""
        return self.take(pointer, nodes, lambda text: _translated(text, words))

    def _take(self, pointer: str, node: Node, convert: Callable[[str], object]) -> bool:
        try:
            value = convert(node.text)
        except UnfitError as error:
            self.draft.lose(node.origin, str(error))
            return False
        return self.draft.put(pointer, value, node.origin)


def _translated(text: str, words: Mapping[str, str]) -> str:
    word = text.strip().rpartition(":")[2]
    if word not in words:
        raise UnfitError(f"a record has words only for {', '.join(words)}")
    return words[word]
