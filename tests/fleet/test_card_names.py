"""Ids and labels of many cards come back as they went in."""

from hypothesis import given
from hypothesis import strategies as st

from auditor.fleet.card_names import CardName, CardNames

_IDS = st.text(st.characters(codec="utf-8"), max_size=9)


_NAMES = st.builds(
    CardName, _IDS, st.sampled_from(("", "critical", "lab")), st.sampled_from(("", "North", "Süd"))
)


@given(st.lists(_NAMES, max_size=20))
def test_each_card_comes_back_by_its_number(cards: list[CardName]) -> None:
    """Numbers begin at 1; ids and labels may be empty, repeated and of any letters."""
    names = CardNames()
    assert [names.add(card) for card in cards] == list(range(1, len(cards) + 1))
    assert [names.of(number) for number in range(1, len(cards) + 1)] == cards
