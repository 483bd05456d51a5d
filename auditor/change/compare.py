"""Settings before and after → what moved, in plain words; members of lists are known by their names.

A value is told only where the schema marks the setting as shown; of a secret only its form.
Whether a move matters is not asked here.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from enum import StrEnum
from functools import cache
from typing import Any, Final

from auditor.dataclass import dataclass
from auditor.record.outline import ANY, leaf_at, outline
from auditor.record.pointer import join
from auditor.record.settings import Settings
from auditor.rules.evaluating import label_of
from auditor.rules.evidence import is_shown, value_text
from auditor.scoring.identity import member_keys

ABSENT: Final = "not captured"
HIDDEN: Final = "set (not shown)"

_FORMS: Final = {
    "clear": "in clear",
    "sealed": "sealed",
    "crypt": "kept as a hash",
    "localized": "kept as a localized key",
    "empty": "empty",
}


class Kind(StrEnum):
    """What a move is."""

    ADDED = "added"
    REMOVED = "removed"
    CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class Move:
    """One setting, or one whole member of a list, that is not what it was.

    ``pointer`` is its place after the change, or before it where it was removed. ``path`` are
    the titles that lead to it, members of lists by their names. ``before`` and ``after`` are
    values in words.
    """

    kind: Kind
    pointer: str
    path: tuple[str, ...]
    before: str
    after: str

    @property
    def title(self) -> str:
        """Return the path on one line."""
        return ": ".join(self.path)


@dataclass(frozen=True, slots=True)
class _At:
    """Where the comparison stands: tokens of the schema, of both records, and the titles so far."""

    pattern: tuple[str, ...] = ()
    before: tuple[str | int, ...] = ()
    after: tuple[str | int, ...] = ()
    path: tuple[str, ...] = ()

    def inside(self, name: str) -> "_At":
        pattern = (*self.pattern, name)
        path = (*self.path, _titles().get(pattern, name))
        return _At(pattern, (*self.before, name), (*self.after, name), path)

    def member(self, before: int | None, after: int | None, label: str) -> "_At":
        places = [index if index is not None else 0 for index in (before, after)]
        path = (*self.path, label)
        return _At((*self.pattern, ANY), (*self.before, places[0]), (*self.after, places[1]), path)


def moves(before: Settings, after: Settings) -> tuple[Move, ...]:
    """Return what moved between two states of a card, in the order of the schema."""
    top = _At()
    names = [name for name in _in_order((*before, *after), ()) if name != "schema"]
    return tuple(
        move for name in names for move in _moves(before.get(name), after.get(name), top.inside(name))
    )


def _moves(before: Any, after: Any, at: _At) -> Iterator[Move]:  # noqa: ANN401 - any JSON value
    if before == after:
        return
    leaf = leaf_at(at.pattern)
    if leaf is not None and leaf.kind == "secret":
        if not _has_same_tag(before, after):
            yield _move(at, _form(before), _form_after(before, after), before, after)
    elif _are(dict, before, after) and (leaf is None or leaf.kind != "sources"):
        for name in _in_order((*(before or ()), *(after or ())), at.pattern):
            yield from _moves((before or {}).get(name), (after or {}).get(name), at.inside(name))
    elif leaf is not None and leaf.kind == "members" and _are(list, before, after):
        yield from _moves_of_members(before, after, at)
    else:
        yield _move(at, *_words(before, after, at), before, after)


def _has_same_tag(before: Mapping[str, Any] | None, after: Mapping[str, Any] | None) -> bool:
    """Tell whether two sealed secrets are surely the same, whatever else is kept of them."""
    tags = [(secret or {}).get("sealed", {}) for secret in (before, after)]
    (old, old_key), (new, new_key) = ((held.get("tag"), held.get("key")) for held in tags)
    return old is not None and old_key is not None and (old, old_key) == (new, new_key)


def _are(kind: type, before: object, after: object) -> bool:
    return all(value is None or isinstance(value, kind) for value in (before, after))


def _moves_of_members(
    before: Sequence[Settings] | None, after: Sequence[Settings] | None, at: _At
) -> Iterator[Move]:
    if before is None or after is None or not (before and after):
        # To know that there is none, and not to know, are two things: the list itself is told.
        yield _move(at, _count(before), _count(after), before, after)
    old, new = _by_key(before or ()), _by_key(after or ())
    for key in dict.fromkeys((*old, *new)):
        first, second = old.get(key), new.get(key)
        old_one, new_one = _member(before, first), _member(after, second)
        inner = at.member(first, second, label_of(new_one or old_one or {}) or key)
        if old_one is not None and new_one is not None:
            yield from _moves(old_one, new_one, inner)
        else:
            was, now = _member_text(old_one, before, inner), _member_text(new_one, after, inner)
            yield _move(inner, was, now, old_one, new_one)


def _member(members: Sequence[Settings] | None, place: int | None) -> Settings | None:
    return members[place] if members is not None and place is not None else None


def _by_key(members: Sequence[Settings]) -> dict[str, int]:
    return {key: index for index, key in enumerate(member_keys(members))}


def _count(members: Sequence[Settings] | None) -> str:
    if members is None:
        return ABSENT
    return str(len(members)) if members else "none"


def _member_text(member: Settings | None, members: Sequence[Settings] | None, at: _At) -> str:
    """Return the settings of a member that may be shown, and are of one value, in one text.

    Of a list that was not captured nobody knows that it has no such member.
    """
    if member is None:
        return ABSENT if members is None else "none"
    inner = {name: value for name, value in member.items() if not isinstance(value, dict | list)}
    shown = {name: value for name, value in inner.items() if is_shown(join((*at.after, name)))}
    names = _in_order(shown, at.pattern)
    return ", ".join(f"{name} {value_text(shown[name])}" for name in names) or "there"


def _move(at: _At, before: str, after: str, old: object, new: object) -> Move:
    kind = Kind.ADDED if old is None else Kind.REMOVED if new is None else Kind.CHANGED
    pointer = join(at.before if new is None else at.after)
    return Move(kind, pointer, at.path, before, after)


def _words(before: object, after: object, at: _At) -> tuple[str, str]:
    said = [ABSENT if value is None else _value(value, at) for value in (before, after)]
    if said[0] == said[1]:
        said[1] = f"{said[1]}, changed"
    return said[0], said[1]


def _value(value: object, at: _At) -> str:
    if isinstance(value, dict):  # sources: a choice, of which each branch says whether it may be shown
        return ", ".join(
            _value(inner, at.inside(name)) if inner is not True else name for name, inner in value.items()
        )
    return value_text(value) if is_shown(join(at.after)) else HIDDEN


def _form(secret: Mapping[str, Any] | None) -> str:
    """Return the form of a secret in words: never anything of what it holds."""
    if secret is None:
        return ABSENT
    return next((words for form, words in _FORMS.items() if form in secret), "set")


def _form_after(before: Mapping[str, Any] | None, after: Mapping[str, Any] | None) -> str:
    said = _form(after)
    if _form(before) != said:
        return said
    keys = {(secret or {}).get("sealed", {}).get("key") for secret in (before, after)}
    return f"{said} with another key, can't be compared" if len(keys) > 1 else f"{said}, changed"


@cache
def _titles() -> Mapping[tuple[str, ...], str]:
    """Return the title of every setting, and of everything around one, by tokens of the schema."""
    titles: dict[tuple[str, ...], str] = {}
    for leaf in outline():
        for depth, title in enumerate((*leaf.titles, leaf.title)):
            titles.setdefault(_upto(leaf.tokens, depth), title)
    return titles


def _upto(tokens: tuple[str, ...], depth: int) -> tuple[str, ...]:
    """Return the tokens up to the name at a depth, list places not counted."""
    seen = -1
    for place, token in enumerate(tokens):
        seen += token != ANY
        if seen == depth:
            return tokens[: place + 1]
    return tokens


def _in_order(names: Iterable[str], inside: tuple[str, ...]) -> list[str]:
    """Return names once each, in the order of the schema: a mark holds them by the alphabet."""
    ranks = _ranks()
    return sorted(dict.fromkeys(names), key=lambda name: ranks.get((*inside, name), len(ranks)))


@cache
def _ranks() -> Mapping[tuple[str, ...], int]:
    """Return the rank of every setting, and of everything around one, by tokens of the schema."""
    places = (leaf.tokens[:length] for leaf in outline() for length in range(1, len(leaf.tokens) + 1))
    return {place: rank for rank, place in enumerate(dict.fromkeys(places))}
