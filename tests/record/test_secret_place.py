"""The places of secrets: those of the schema, all of them, found in a record by one walk."""

import random

import orjson

from auditor.record.outline import outline
from auditor.record.pointer import join, value_at
from auditor.record.secret_place import KINDS, conceal, is_clear, located_secrets, secret_places, secrets_of
from tests.rules.mutation import random_card


def test_the_places_are_those_of_the_outline() -> None:
    """The quick walk through the schema finds what the outline of the settings calls a secret."""
    assert {place.tokens for place in secret_places()} == {
        leaf.tokens for leaf in outline() if leaf.kind == "secret"
    }


def test_every_place_that_has_a_kind_is_in_the_schema() -> None:
    """No kind names a place that went, and none names one twice."""
    named = [place for places in KINDS.values() for place in places]
    assert sorted(named) == sorted(join(place.tokens) for place in secret_places())


def test_both_ways_to_find_secrets_agree() -> None:
    """The compiled walk and the one that tells places find the same secrets in random cards."""
    for seed in range(30):
        card = random_card(random.Random(seed))  # noqa: S311 - made-up data
        located = list(located_secrets(card))
        assert all(value_at(card, map(str, one.tokens)) is one.secret for one in located)
        found = {id(secret): kind for kind, secret in secrets_of(card)}
        assert found == {id(one.secret): one.kind for one in located}


def test_no_clear_secret_is_left_outside_its_type() -> None:
    """After concealing, JSON takes a card exactly if there was no clear secret in it."""
    for seed in range(30):
        card = random_card(random.Random(seed))  # noqa: S311 - made-up data
        any_clear = any(is_clear(secret) for _, secret in secrets_of(card))
        assert conceal(secrets_of(card)) is any_clear
        assert b'"clear"' not in orjson.dumps(card, default=lambda _: None).replace(b'"clear":null', b"")
