"""What is known of a secret in each of its forms."""

from datetime import UTC, datetime

import pytest

from auditor.facts.fact import Context
from auditor.facts.secret_class import (
    Secret,
    are_same,
    is_empty,
    is_guessable,
    is_well_known,
    length_of,
    same_as_key,
)

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC), frozenset({"password", "12345678"}))
SHA512 = {"crypt": "$6$saltsalt$aaaa"}
# RFC 3414 A.3.2 (SHA key of "maplesyrup"); the second is its head, as RFC 3826 uses it for AES.
LONG_KEY = {"localized": "6695febc9288e36282235fc7151f128497b38f3f"}
SHORT_KEY = {"localized": "6695FEBC9288E36282235FC7151F1284"}
OTHER_KEY = {"localized": "78e2dcce79d59403b58c1bbaa5bff46391f1cd25"}


@pytest.mark.parametrize(
    ("secret", "empty", "known", "length"),
    [
        (None, None, None, None),
        ({"empty": True}, True, False, 0),
        ({"clear": "PassWord"}, False, True, 8),
        ({"clear": "basalt-Ferry"}, False, False, 12),
        ({"crypt": "$0$password"}, False, True, 8),
        ({"crypt": "$0$"}, True, False, 0),
        (SHA512, None, None, None),
        (LONG_KEY, False, None, None),
        ({"sealed": {}}, False, None, None),
        ({"sealed": {"length": 9, "listed": "well_known"}}, False, True, 9),
        ({"sealed": {"length": 9, "listed": "common"}}, False, False, 9),
        ({"sealed": {"listed": "none"}}, False, False, None),
    ],
)
def test_each_form_tells_what_it_can(
    secret: Secret, empty: bool | None, known: bool | None, length: int | None
) -> None:
    """Emptiness, listing and length are told where the form shows them, else unknown.

    Source: RFC 7317, crypt-hash ($0$ is clear text); RFC 3414 A.2 (a key is made from some text).
    """
    assert (is_empty(secret), is_well_known(secret, CONTEXT), length_of(secret)) == (empty, known, length)


@pytest.mark.parametrize(
    ("secret", "guessable"),
    [
        (None, None),
        ({"empty": True}, True),
        ({"clear": "12345678"}, True),
        ({"clear": "basalt-Ferry"}, False),
        ({"sealed": {}}, None),
        (SHA512, None),
    ],
)
def test_guessable_is_empty_or_well_known(secret: Secret, guessable: bool | None) -> None:
    """Either of the two is enough; a hidden secret stays unknown."""
    assert is_guessable(secret, CONTEXT) is guessable


@pytest.mark.parametrize(
    ("one", "other", "same"),
    [
        ({"clear": "a"}, {"clear": "a"}, True),
        ({"clear": "a"}, {"clear": "A"}, False),
        ({"clear": "a"}, {"crypt": "$0$a"}, True),
        ({"clear": "a"}, {"empty": True}, False),
        ({"empty": True}, {"empty": True}, True),
        ({"sealed": {"tag": "00ff00ff00ff00ff"}}, {"sealed": {"tag": "00ff00ff00ff00ff"}}, True),
        ({"sealed": {"tag": "00ff00ff00ff00ff"}}, {"sealed": {"tag": "11ff00ff00ff00ff"}}, False),
        ({"sealed": {"length": 3}}, {"clear": "four"}, False),
        ({"sealed": {"length": 4}}, {"clear": "four"}, None),
        ({"sealed": {}}, {"empty": True}, False),
        (SHA512, SHA512, True),
        (SHA512, {"crypt": "$6$saltsalt$bbbb"}, False),
        (SHA512, {"crypt": "$6$othersalt$bbbb"}, None),
        (SHA512, {"clear": "a"}, None),
        (LONG_KEY, SHORT_KEY, True),
        (LONG_KEY, OTHER_KEY, None),
        (None, {"clear": "a"}, None),
        (None, None, None),
    ],
)
def test_secrets_are_compared_as_far_as_their_forms_allow(
    one: Secret, other: Secret, same: bool | None
) -> None:
    """Equal and unequal are said only where they are sure, whichever comes first."""
    assert (are_same(one, other), are_same(other, one)) == (same, same)


def test_keys_of_one_user_differ_when_their_heads_differ() -> None:
    """Authentication and privacy keys of one user share hash and engine: unequal is unequal."""
    assert are_same(LONG_KEY, OTHER_KEY, one_user=True) is False
    assert are_same(LONG_KEY, SHORT_KEY, one_user=True) is True


def test_a_sealed_secret_without_a_tag_has_no_key() -> None:
    """Nothing to compare by: no key, so no accidental equality of unknowns."""
    assert same_as_key({"sealed": {"length": 8}}) is None
    assert same_as_key(None) is None
