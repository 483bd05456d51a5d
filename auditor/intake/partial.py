"""A record that is still being made by hand: settings put and taken back, always on a copy."""

from collections.abc import Sequence
from typing import Any

from auditor.record.outline import ANY, leaf_at, outline
from auditor.record.pointer import value_at
from auditor.record.settings import Settings
from auditor.record.visit import Spot

_CARD_ID = ("card", "id")


def with_value(settings: Any, tokens: Sequence[str], value: Any) -> Any:  # noqa: ANN401 - any JSON value
    """Return settings with a value at a place; objects on the way are made, lists have the member already."""
    if not tokens:
        return value
    token, rest = tokens[0], tokens[1:]
    if isinstance(settings, list):
        at = int(token)
        return [*settings[:at], with_value(settings[at], rest, value), *settings[at + 1 :]]
    return {**settings, token: with_value(settings.get(token, {}), rest, value)}


def without_value(settings: Any, tokens: Sequence[str]) -> Any:  # noqa: ANN401 - any JSON value
    """Return settings without what stands at a place.

    Objects that it leaves empty go too; members of lists stay.
    """
    if value_at(settings, tokens) is None:
        return settings
    token, rest = tokens[0], tokens[1:]
    if isinstance(settings, list):
        at = int(token)
        return [*settings[:at], without_value(settings[at], rest), *settings[at + 1 :]]
    kept = without_value(settings[token], rest) if rest else {}
    others = {name: value for name, value in settings.items() if name != token}
    return others if kept == {} else {**settings, token: kept}


def must_have(spot: Spot) -> bool:
    """Tell whether what holds a setting can't be without it, as an account without its name."""
    if spot.tokens == _CARD_ID:
        return True
    return spot.tokens[-1] in _needed_in(spot.tokens[:-2]) and spot.tokens[-2].isdecimal()


def complete(settings: Settings) -> Settings:
    """Return settings without members of lists that lack what they must have.

    A list of which nothing is left is unknown, not empty.
    """
    for leaf in outline():
        members = value_at(settings, leaf.tokens) if leaf.kind == "members" else None
        needed = _needed_in(leaf.tokens) if members else ()
        kept = [member for member in members or () if all(name in member for name in needed)]
        if members and len(kept) < len(members):
            settings = (
                with_value(settings, leaf.tokens, kept) if kept else without_value(settings, leaf.tokens)
            )
    return settings


def _needed_in(tokens: Sequence[str]) -> tuple[str, ...]:
    """Return the names that each member of a list must have, none where there is no list."""
    leaf = leaf_at(tuple(ANY if token.isdecimal() else token for token in tokens))
    items = leaf.node.get("items", {}) if leaf else {}
    return tuple(items.get("required", ()))
