"""Building what an import gives, setting by setting, so that settings and origins can't disagree.

Knows the record's shape, not any source's.
"""

from collections.abc import Sequence
from typing import Any

from auditor.intake.fitting import misfit
from auditor.intake.imported import Imported, Lost, Origin
from auditor.record.limits import DEFAULT
from auditor.record.mask import MASKED, is_masked
from auditor.record.pointer import split

LONGEST_NAME = 512
"""Characters of a name in ``unmapped``, as the schema of a record allows."""


class Draft:
    """A record in the making: what was put, where it came from, what was lost.

    A value that the schema refuses is lost, not put, so that one odd value never costs the
    record. Lists grow at their end: ask ``next_item`` where.
    """

    def __init__(self, file: str, method: str) -> None:
        """Begin with nothing; ``method`` is a word of ``/capture/method``."""
        self.file, self.method = file, method
        self._settings: dict[str, Any] = {}
        self._origins: dict[str, Origin] = {}
        self._lost: list[Lost] = []
        self._unmapped: dict[str, None] = {}

    def put(self, pointer: str, value: object, origin: Origin) -> bool:
        """Put a setting, and tell whether it was taken.

        A setting is a leaf, a whole secret, whole ``allowed_sources``, or a whole list of
        leaves, empty or not. A masked value, one that does not fit the schema, or a second
        and different one for the same place is lost instead. After the first member of a list's item was
        refused, ``next_item`` gives the same place again.

        Raises:
            ValueError: if the schema knows no such place, if the place is inside a setting
                that was put whole, or if it leaves a gap in a list.
        """
        if pointer in self._origins and self._at(pointer) == value:
            return True
        why = self._obstacle(pointer, value)
        if why:
            self.lose(origin, why)
            return False
        self._place(split(pointer), value)
        self._origins[pointer] = origin
        return True

    def put_secret(self, pointer: str, text: str, origin: Origin) -> bool:
        """Put a secret that the source tells in clear; an empty text is the empty secret."""
        return self.put(pointer, {"clear": text} if text else {"empty": True}, origin)

    def next_item(self, pointer: str) -> str:
        """Return the pointer of the item that a list would get next; nothing is made yet."""
        items = self._at(pointer)
        return f"{pointer}/{len(items) if items else 0}"

    def has(self, pointer: str) -> bool:
        """Tell whether something was put at a place or below it."""
        return self._at(pointer) is not None

    def lose(self, origin: Origin, why: str) -> None:
        """Note a source setting that could not be converted; ``why`` must not hold its value."""
        self._lost.append(Lost(origin, why))

    def unmapped(self, name: str) -> None:
        """Note the name of a source setting that has no place in a record, once."""
        if len(self._unmapped) < DEFAULT.items:
            self._unmapped[name if len(name) <= LONGEST_NAME else f"{name[: LONGEST_NAME - 1]}…"] = None

    def done(self, card_id: str) -> Imported:
        """Return all that was put and noted, under the id of the card."""
        return Imported(
            card_id=card_id,
            settings=self._settings,
            file=self.file,
            method=self.method,
            origins=self._origins,
            lost=tuple(self._lost),
            unmapped=tuple(name for name in self._unmapped if name),
        )

    def _obstacle(self, pointer: str, value: object) -> str:
        if pointer in self._origins:
            return f"told again and differently; kept as told at {self._origins[pointer]}"
        if _shows_mask(value):
            return MASKED
        if any(token.isdecimal() and int(token) >= DEFAULT.items for token in split(pointer)):
            return f"more than {DEFAULT.items} items in a list"
        return misfit(pointer, value)

    def _at(self, pointer: str) -> Any:  # noqa: ANN401 - any JSON value
        node: Any = self._settings
        for token in split(pointer):
            if isinstance(node, list):
                node = node[int(token)] if token.isdecimal() and int(token) < len(node) else None
            else:
                node = node.get(token) if isinstance(node, dict) else None
        return node

    def _place(self, tokens: Sequence[str], value: object) -> None:
        node: Any = self._settings
        at = ""
        for token, after in zip(tokens, (*tokens[1:], None), strict=True):
            at = f"{at}/{token}"
            if at in self._origins and after is not None:
                raise ValueError(f"{at} was put whole: nothing can be put below it")
            empty: Any = [] if after is not None and after.isdecimal() else {}
            node = _child(node, token, value if after is None else empty)


def _child(node: Any, token: str, fresh: object) -> Any:  # noqa: ANN401 - any JSON value
    """Return what stands at a member or item, made if it is missing."""
    if isinstance(node, dict):
        return node.setdefault(token, fresh)
    if int(token) > len(node):
        raise ValueError(f"item {token} would leave a gap in a list of {len(node)}")
    if int(token) == len(node):
        node.append(fresh)
    return node[int(token)]


def _shows_mask(value: object) -> bool:
    """Tell whether a text or a clear secret is masked."""
    text = value.get("clear") if isinstance(value, dict) else value
    return isinstance(text, str) and is_masked(text)
