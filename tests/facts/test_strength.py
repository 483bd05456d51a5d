"""How many guesses a secret withstands: zxcvbn's own examples, bands, sealed secrets, speed of the screen."""

from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from zxcvbn import zxcvbn  # type: ignore[import-untyped]  # ships no types

from auditor.facts import strength
from auditor.facts.own_names import OwnNames
from auditor.facts.secret_class import Secret
from auditor.facts.strength import LONGEST, GuessBand, guess_band, withstands
from auditor.record.schema import card_schema

NONE = OwnNames(frozenset(), are_complete=True)
SOME = OwnNames(frozenset(), are_complete=False)

# Texts of the zxcvbn project's own demonstration, cheapest first by its published results
# (the list and its order from memory; the guesses below are computed by the package).
EXAMPLES = (
    "password1",
    "rosebud",
    "Tr0ub4dour&3",
    "correcthorsebatterystaple",
    "rWibMFACxAUGZmxhVncy",
    "coRrecth0rseba++ery9.23.2007staple$",
    "Ba9ZyWABu99[BK#6MBgbH88Tofv)vs$w",
)


def test_the_documented_example_gives_the_documented_guesses() -> None:
    """JohnSmith123 with the names John and Smith takes 2 567 800 guesses. Source: README of zxcvbn."""
    names = OwnNames(frozenset(("john", "smith")), are_complete=True)
    assert strength._guesses("JohnSmith123", ("john", "smith")) == 2_567_800  # noqa: SLF001
    assert guess_band("JohnSmith123", names) is GuessBand.ONLINE


def test_bands_keep_the_order_of_the_examples() -> None:
    """What zxcvbn finds harder never stands in a weaker band."""
    guesses = [zxcvbn(text)["guesses"] for text in EXAMPLES]
    bands = [list(GuessBand).index(guess_band(text, NONE)) for text in EXAMPLES]
    assert all(one < other for one, other in pairwise(guesses))
    assert all(one <= other for one, other in pairwise(bands))
    assert [bands[0], bands[3], bands[-1]] == [0, 2, 3]


@pytest.mark.parametrize(
    ("text", "band"),
    [
        ("", "online"),
        ("administrator", "online"),
        ("qwertyuiopasdfgh", "online"),
        ("administratorx2026", "offline_slow"),
        ("password-dragon-monkey", "offline_fast"),
        ("Kestrel-ladder-58-quartz", "beyond"),
        ("k3Zq0mB1nT5vX8cR2yW7pL4s", "beyond"),
    ],
)
def test_a_text_has_its_band(text: str, band: str) -> None:
    """Bands end at 10^8, 10^11 and 10^15 guesses."""
    assert guess_band(text, NONE) == band


def test_own_names_make_a_secret_weaker() -> None:
    """A name that no list holds is as good as a word once the card is known to have it."""
    text = "Zbruevka-Zbruevka-7"
    named = OwnNames(frozenset(("zbruevka",)), are_complete=True)
    assert guess_band(text, NONE) is not GuessBand.ONLINE
    assert guess_band(text, named) is GuessBand.ONLINE
    assert guess_band(text.replace("e", "3"), named) is GuessBand.ONLINE
    assert withstands({"clear": text}, named, GuessBand.ONLINE) is False


def test_a_very_long_secret_is_read_in_part() -> None:
    """The estimate's work is bounded; the rest of a secret can only make it stronger."""
    text = "Kestrel-ladder-58-quartz" * 100
    assert guess_band(text, NONE) == guess_band(text[:LONGEST], NONE)


@pytest.mark.parametrize(
    ("secret", "names", "said"),
    [
        (None, NONE, None),
        ({"crypt": "$6$salt$hash"}, NONE, None),
        ({"localized": "00" * 16}, NONE, None),
        ({"empty": True}, SOME, False),
        ({"clear": "administrator"}, SOME, False),
        ({"clear": "Kestrel-ladder-58-quartz"}, NONE, True),
        ({"clear": "Kestrel-ladder-58-quartz"}, SOME, None),
        ({"sealed": {}}, NONE, None),
        ({"sealed": {"guess_band": "offline_slow"}}, SOME, False),
        ({"sealed": {"guess_band": "offline_fast"}}, NONE, True),
        ({"sealed": {"guess_band": "offline_fast"}}, SOME, None),
    ],
)
def test_what_a_secret_withstands_is_said_where_it_is_known(
    secret: Secret, names: OwnNames, said: bool | None
) -> None:
    """Weakness is said at once; strength only where no name of the card is missed."""
    assert withstands(secret, names, GuessBand.OFFLINE_SLOW) is said


@settings(max_examples=60, deadline=None)
@given(
    st.text("abKel09-!", max_size=24),
    st.sampled_from(list(strength.POWERS)),
    st.booleans(),
    st.sampled_from([(), ("abel",), ("kel", "ab")]),
)
def test_a_sealed_secret_says_what_the_clear_one_says(
    text: str, band: GuessBand, complete: bool, words: tuple[str, ...]
) -> None:
    """The band keeps all that is asked of a secret's strength; the screen never says otherwise."""
    names = OwnNames(frozenset(words), complete)
    sealed: Secret = {"sealed": {"guess_band": str(guess_band(text, names))}}
    assert withstands(sealed, names, band) is withstands({"clear": text}, names, band)


def test_a_proved_secret_needs_no_estimate(monkeypatch: pytest.MonkeyPatch) -> None:
    """The slow estimate is asked only where the screen proves nothing."""
    monkeypatch.setattr(strength, "_guesses", lambda *_: pytest.fail("estimated"))
    assert withstands({"clear": "Kestrel-ladder-58-quartz"}, NONE, GuessBand.OFFLINE_SLOW) is True


def test_the_schema_knows_the_same_bands() -> None:
    """A sealed secret may carry every band, and no other."""
    forms: list[dict[str, Any]] = card_schema()["$defs"]["secret"]["oneOf"]
    sealed = next(form["properties"]["sealed"] for form in forms if "sealed" in form["properties"])
    assert sealed["properties"]["guess_band"]["enum"] == list(GuessBand)
