"""Whether a view of SNMP holds an object, or anything of a subtree; holds no facts.

A view is given by its rows as a record holds them. None as an answer is *unknown*: a member
of a row was not captured, and the answer depends on it.

Source: RFC 3415 section 4, vacmViewTreeFamilyTable.
"""

from collections.abc import Iterable, Iterator
from functools import lru_cache
from itertools import groupby
from typing import Final, NamedTuple, TypeAlias

from auditor.facts.ups_mib import Oid


class Family(NamedTuple):
    """One row of a view, as captured; None for a member that was not.

    ``is_of_view`` is False where the row does not tell its view: it may belong to this one.
    """

    subtree: str | None
    mask: str | None
    type: str | None
    is_of_view: bool = True


Families: TypeAlias = tuple[Family, ...]

_FRESH: Final = -1
"""Stands for a sub-identifier that no row names."""

_BOTH: Final = frozenset({False, True})


class _Row(NamedTuple):
    """A row, taken apart: ``cares`` says for each sub-identifier whether it must be equal.

    ``cares`` is None where the mask is unknown; ``says`` is what the row can mean.
    """

    subtree: Oid
    cares: tuple[bool, ...] | None
    says: frozenset[bool]
    is_of_view: bool

    def matches(self, oid: Oid) -> bool | None:
        """Return whether an object falls under the row."""
        if len(oid) < len(self.subtree):
            return False
        is_equal = oid[: len(self.subtree)] == self.subtree
        if not is_equal and self.cares is not None and self._differs(oid):
            return False
        return True if self.is_of_view and (is_equal or self.cares is not None) else None

    def _differs(self, oid: Oid) -> bool:
        pairs = zip(self.subtree, oid, self.cares or (), strict=False)
        return any(care and own != other for own, other, care in pairs)


def includes(families: Families, oid: Oid) -> bool | None:
    """Return whether an object is in the view.

    Of the rows that match, the one with the most sub-identifiers decides; among those, the
    lexicographically greatest.
    """
    placed, unplaced = _taken_apart(families)
    said = {word for says in unplaced for word in says}
    for _, rows in groupby(placed, key=_rank):
        matching = [(row, found) for row in rows if (found := row.matches(oid)) is not False]
        said.update(*(row.says for row, _ in matching))
        if any(found for _, found in matching):
            break
    else:
        said |= {False}
    return said.pop() if len(said) == 1 else None


def includes_some(families: Families, subtree: Oid) -> bool | None:
    """Return whether anything at or below an object identifier is in the view.

    Exact where every row is captured. It is enough to ask, for each row, for the one object
    that lies both in the row and in the subtree, is no longer than it must be, and is filled up
    with sub-identifiers that no row names: every row that matches this object matches all
    objects which lie in both.
    """
    found = [includes(families, oid) for oid in _witnesses(families, subtree)]
    return True if True in found else None if None in found else False


@lru_cache(maxsize=256)
def includes_all(families: Families, subtree: Oid) -> bool | None:
    """Return whether everything at and below an object identifier is in the view.

    It is, where nothing of it is in the opposite view: every row turned round, on top of a row
    that includes all there is.
    """
    turned = (family._replace(type=_OPPOSITE.get(family.type or "")) for family in families)
    missing = includes_some((Family(str(subtree[0]), "", "included"), *turned), subtree)
    return None if missing is None else not missing


_OPPOSITE: Final = {"included": "excluded", "excluded": "included"}


@lru_cache(maxsize=1024)  # the cards of an estate share a few views
def includes_any(families: Families, subtrees: frozenset[Oid]) -> bool | None:
    """Return whether anything at or below one of some object identifiers is in the view."""
    found = {includes_some(families, subtree) for subtree in subtrees}
    return True if True in found else None if None in found else False


def _witnesses(families: Families, subtree: Oid) -> Iterator[Oid]:
    placed, _ = _taken_apart(families)
    yield subtree
    for row in placed:
        exact = row.cares or (True,) * len(row.subtree)
        forms = [exact] if row.cares is not None else [exact, (False,) * len(row.subtree)]
        for cares in forms:
            if True in row.says and (oid := _meeting(row.subtree, cares, subtree)):
                yield oid


def _meeting(family: Oid, cares: tuple[bool, ...], subtree: Oid) -> Oid | None:
    """Return the least object that lies in a row and in a subtree, None if there is none."""
    oid = list(subtree) + [_FRESH] * (len(family) - len(subtree))
    for place, (own, care) in enumerate(zip(family, cares, strict=True)):
        if care and place < len(subtree) and own != oid[place]:
            return None
        if care:
            oid[place] = own
    return tuple(oid)


@lru_cache(maxsize=256)
def _taken_apart(families: Families) -> tuple[tuple[_Row, ...], tuple[frozenset[bool], ...]]:
    """Return the rows whose subtree is known, greatest rank first, and what the others can mean."""
    placed = [_row(family, family.subtree) for family in families if family.subtree is not None]
    unplaced = [_says(family) for family in families if family.subtree is None]
    return tuple(sorted(placed, key=_rank, reverse=True)), tuple(unplaced)


def _rank(row: _Row) -> tuple[int, Oid]:
    return len(row.subtree), row.subtree


def _row(family: Family, text: str) -> _Row:
    subtree = tuple(int(number) for number in text.split("."))
    cares = None if family.mask is None else tuple(_bits(family.mask, len(subtree)))
    return _Row(subtree, cares, _says(family), family.is_of_view)


def _says(family: Family) -> frozenset[bool]:
    return _BOTH if family.type is None else frozenset({family.type == "included"})


def _bits(mask: str, length: int) -> Iterable[bool]:
    """Return for each sub-identifier whether it must be equal; a short mask goes on with ones."""
    octets = bytes.fromhex(mask.replace(":", ""))
    bits = [bool(octet >> (7 - place) & 1) for octet in octets for place in range(8)]
    return (bits + [True] * length)[:length]
