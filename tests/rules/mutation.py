"""Random cards: the compliant card with settings changed, lists resized and settings forgotten.

Every card made here is valid by the schema, so that only the judging is under test.
"""

import copy
import random
from functools import cache
from typing import Any

import jsonschema_rs
import orjson

from auditor.facts.fact import Settings
from auditor.record.pointer import join, split, value_at
from auditor.record.schema import card_schema, place_at
from tests.rules.matrix import card_of, read_cases

_TEXTS = ("example", "192.0.2.7", "2026-01-31", "public", "ssh-rsa", "a.example.org")


@cache
def _validator() -> jsonschema_rs.Draft202012Validator:
    return jsonschema_rs.Draft202012Validator(dict(card_schema()), validate_formats=True)


@cache
def _sources() -> tuple[bytes, ...]:
    """Return cards to start from: those of the rule matrix."""
    return tuple(orjson.dumps(card_of(case)) for case in read_cases())


def random_card(dice: random.Random) -> Settings:
    """Return a valid card with a few random changes."""
    card: Settings = orjson.loads(dice.choice(_sources()))
    for _ in range(dice.randint(0, 12)):
        before = copy.deepcopy(card)
        _change(card, dice)
        if not _validator().is_valid(card):
            card = before
    return card


def forget_one(card: Settings, dice: random.Random) -> tuple[Settings, str]:
    """Return the card with one member of one object forgotten, and the pointer of that member."""
    places = [pointer for pointer in _places(card) if not split(pointer)[-1].isdecimal()]
    dice.shuffle(places)
    for pointer in places:
        less = copy.deepcopy(card)
        tokens = split(pointer)
        del value_at(less, tokens[:-1])[tokens[-1]]
        if _validator().is_valid(less):
            return less, pointer
    return card, ""


def _places(node: Any, tokens: tuple[str | int, ...] = ()) -> list[str]:
    found = []
    pairs = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in pairs:
        found.append(join((*tokens, key)))
        found += _places(value, (*tokens, key))
    return found


def _change(card: Settings, dice: random.Random) -> None:
    tokens = split(dice.choice(_places(card)))
    holder, key = value_at(card, tokens[:-1]) if tokens[:-1] else card, tokens[-1]
    if isinstance(holder, list):
        _change_list(holder, int(key), dice)
    elif dice.random() < 1 / 2:
        del holder[key]
    else:
        holder[key] = _other(holder[key], tokens, dice)


def _change_list(members: list[Any], index: int, dice: random.Random) -> None:
    if dice.random() < 1 / 2:
        del members[index]
    else:
        members.append(copy.deepcopy(members[index]))


def _other(value: Any, tokens: tuple[str, ...], dice: random.Random) -> Any:
    place = place_at(tokens)
    if isinstance(value, bool):
        return not value
    if isinstance(value, int | float):
        return dice.choice((0, 1, value + 1, value * 2, value * 100))
    if isinstance(value, str):
        return dice.choice((place.values if place else ()) or _TEXTS)
    return [] if isinstance(value, list) else {"any": True} if "prefixes" in value else {"empty": True}
