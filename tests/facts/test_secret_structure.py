"""What a secret is built of: words with endings, patterns, dates, own names."""

from datetime import UTC, datetime
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.fact import Context
from auditor.facts.localized_key import password_to_key
from auditor.facts.own_names import OwnNames, own_names
from auditor.facts.secret_class import SITE_VARIANT, SITE_WORD, Secret, is_variant_of_well_known
from auditor.facts.secret_structure import (
    Flag,
    derived_from,
    flags_of,
    is_date,
    is_made_of_names,
    is_repeated_pattern,
    repeats_pattern,
)
from auditor.record.schema import card_schema

CONTEXT = Context(datetime(2026, 11, 25, 12, tzinfo=UTC), frozenset({"admin", "public", "password", "it"}))
NAMES = OwnNames(frozenset(("fenwickhill", "fenwick", "hill", "ups")), are_complete=True)
SOME_NAMES = OwnNames(NAMES.words, are_complete=False)


@pytest.mark.parametrize(
    "text",
    ["admin1", "Admin2026", "PASSWORD!", "public-1", "Public_2026!!", "password#", "it2026", "admin@123"],
)
def test_a_listed_word_is_found_with_a_simple_ending(text: str) -> None:
    """Whatever its case; up to four digits, a sign before and two behind them."""
    assert is_variant_of_well_known({"clear": text}, CONTEXT) is True


@pytest.mark.parametrize(
    "text",
    ["admin", "ADMIN", "", "admin20261", "admin-x", "xadmin1", "adminadmin", "2026", "password!!!", "-1"],
)
def test_a_word_alone_or_with_more_is_no_variant(text: str) -> None:
    """The plain word has its own rule; longer endings are left to the estimate of guesses."""
    assert is_variant_of_well_known({"clear": text}, CONTEXT) is False


@pytest.mark.parametrize(
    ("secret", "known"),
    [
        (None, None),
        ({"crypt": "$6$salt$hash"}, None),
        ({"crypt": "$0$Admin1"}, True),
        ({"localized": "00" * 16}, None),
        ({"empty": True}, False),
        ({"sealed": {"listed": "none"}}, None),
        ({"sealed": {"flags": []}}, False),
        ({"sealed": {"flags": ["well_known_variant"]}}, True),
    ],
)
def test_a_variant_is_told_where_the_form_shows_it(secret: Secret, known: bool | None) -> None:
    """Hashes, keys and sealed secrets without flags hide it."""
    assert is_variant_of_well_known(secret, CONTEXT) is known


@pytest.mark.parametrize("text", ["bertbert", "bertbertbert", "aaaa", "1212", "aa"])
def test_a_repeated_pattern_is_found(text: str) -> None:
    """Source: RFC 3414 section 11.2 (bertbert)."""
    assert is_repeated_pattern(text)


@pytest.mark.parametrize("text", ["", "a", "bert", "bertber", "bertbertx", "abab1"])
def test_a_text_that_does_not_end_with_its_pattern_is_none(text: str) -> None:
    """Its key in SNMPv3 is another than that of the pattern."""
    assert not is_repeated_pattern(text)


@given(st.text("ab", min_size=1, max_size=4), st.integers(2, 4))
def test_a_pattern_is_found_just_where_the_keys_are_the_same(unit: str, times: int) -> None:
    """The definition agrees with the keys themselves (RFC 3414 A.2.1)."""
    text = unit * times
    assert is_repeated_pattern(text)
    assert password_to_key(text.encode(), "md5") == password_to_key(unit.encode(), "md5")


@pytest.mark.parametrize(
    "text", ["25.11.2026", "25112026", "11/25/26", "2026-11-25", "20261125", "1.2.1999", "251126", "01-02-03"]
)
def test_a_date_is_found_in_its_usual_forms(text: str) -> None:
    """Day, month and year in any usual order, with one sign between them or none."""
    assert is_date(text)


@pytest.mark.parametrize(
    "text", ["", "2026", "99.99.2026", "25.11-2026", "x25.11.2026", "123456789", "25.11.20261"]
)
def test_what_is_more_or_less_than_a_date_is_none(text: str) -> None:
    """A date with something beside it is left to the estimate of guesses."""
    assert not is_date(text)


@pytest.mark.parametrize("text", ["FenwickHill", "fenwick-hill-12", "Hill2026", "UPS Fenwick 1", "12ups34"])
def test_a_text_of_own_names_is_found(text: str) -> None:
    """Whatever the case and the signs between, with four characters more at most."""
    assert is_made_of_names(text, NAMES)


@pytest.mark.parametrize("text", ["", "1234", "Fenwick-estuary-40-vane", "hillside20", "fenwic", "---"])
def test_a_text_with_more_of_its_own_is_none(text: str) -> None:
    """A name among other words is left to the estimate of guesses, which counts it as known."""
    assert not is_made_of_names(text, NAMES)


@pytest.mark.parametrize(
    ("secret", "names", "said"),
    [
        ({"clear": "Admin2026"}, SOME_NAMES, "well_known_variant"),
        ({"clear": "bertbert"}, SOME_NAMES, "repeated_pattern"),
        ({"clear": "25.11.2026"}, SOME_NAMES, "date"),
        ({"clear": "fenwick12"}, SOME_NAMES, "own_name"),
        ({"clear": "basalt-Ferry-20"}, NAMES, "nothing"),
        ({"clear": "basalt-Ferry-20"}, SOME_NAMES, None),
        ({"sealed": {"flags": ["own_name", "date"]}}, SOME_NAMES, "date"),
        ({"sealed": {"flags": []}}, NAMES, "nothing"),
        ({"sealed": {"flags": []}}, SOME_NAMES, None),
        ({"sealed": {}}, NAMES, None),
        ({"crypt": "$6$salt$hash"}, NAMES, None),
        ({"localized": "00" * 16}, NAMES, None),
        (None, NAMES, None),
    ],
)
def test_the_first_flag_is_named(secret: Secret, names: OwnNames, said: str | None) -> None:
    """What is found is said at once; nothing only where no name of the card is missed."""
    assert derived_from(secret, names, CONTEXT) == said


@pytest.mark.parametrize(
    ("secret", "repeats"),
    [
        (None, None),
        ({"clear": "bertbert"}, True),
        ({"clear": "bert"}, False),
        ({"localized": "00" * 16}, None),
        ({"sealed": {"flags": ["repeated_pattern"]}}, True),
        ({"sealed": {"flags": []}}, False),
        ({"sealed": {}}, None),
    ],
)
def test_a_repeated_pattern_is_told_where_the_form_shows_it(secret: Secret, repeats: bool | None) -> None:
    """It takes no names to tell it."""
    assert repeats_pattern(secret) is repeats


def test_the_schema_knows_the_same_flags() -> None:
    """A sealed secret may carry every flag and what a site's own words add, and nothing else."""
    forms: list[dict[str, Any]] = card_schema()["$defs"]["secret"]["oneOf"]
    sealed = next(form["properties"]["sealed"] for form in forms if "sealed" in form["properties"])
    assert sealed["properties"]["flags"]["items"]["enum"] == [*Flag, SITE_WORD, SITE_VARIANT]


TEXTS = st.one_of(
    st.text("ab1-", max_size=8),
    st.sampled_from(["Admin2026", "fen-ups-01", "osei2026", "25.11.2026", "Fenwick"]),
)
CARD = st.fixed_dictionaries(
    {"id": st.just("fen-ups-01")},
    optional={"site": st.just("Fenwick Hill"), "serial_number": st.sampled_from(["ab1", "WM-1"])},
)


@given(TEXTS, CARD, st.booleans())
def test_a_sealed_secret_says_what_the_clear_one_says(
    text: str, card: dict[str, Any], known_host: bool
) -> None:
    """The flags keep all that is asked of the structure, whatever is known of the names."""
    names = own_names({"card": card, "network": {"hostname": "ab-1"} if known_host else {}}, {"name": "osei"})
    sealed: Secret = {"sealed": {"flags": [str(flag) for flag in flags_of(text, names, CONTEXT)]}}
    assert derived_from(sealed, names, CONTEXT) == derived_from({"clear": text}, names, CONTEXT)
    assert repeats_pattern(sealed) == repeats_pattern({"clear": text})


@given(TEXTS, CARD)
def test_more_knowledge_of_names_never_turns_the_answer(text: str, card: dict[str, Any]) -> None:
    """Something found stays found, and nothing is said only where all names are known."""
    whole = {"site": "Fenwick Hill", "serial_number": "WM-1", **card}
    full = own_names({"card": whole, "network": {"hostname": "ab-1"}}, {"name": "osei"})
    less = own_names({"card": card}, {"name": "osei"})
    known = derived_from({"clear": text}, less, CONTEXT)
    assert known is None or (known == "nothing") is (
        derived_from({"clear": text}, full, CONTEXT) == "nothing"
    )
