"""The names of a card, as they are looked for in its secrets."""

from typing import Any

import pytest

from auditor.facts.own_names import compact, own_names

RECORD: dict[str, Any] = {
    "card": {"id": "fen-ups-01", "site": "Fenwick Hill", "serial_number": "WM-000101"},
    "network": {"hostname": "Fen-UPS-01"},
}


def test_names_are_taken_whole_and_in_parts() -> None:
    """Letters and digits only, lower case, each once; parts of two letters are left out."""
    names = own_names(RECORD, {"name": "r.osei"})
    assert names.words == {
        "fenwickhill", "fenups01", "wm000101", "fenwick", "000101", "rosei", "hill", "osei", "fen", "ups",
    }  # fmt: skip
    assert names.are_complete


@pytest.mark.parametrize(
    "record",
    [
        {"card": {"id": "c"}},
        {**RECORD, "network": {}},
        {**RECORD, "card": {"id": "c", "site": "Fenwick Hill"}},
        {"network": RECORD["network"], "card": {"id": "c", "serial_number": "1"}},
    ],
)
def test_a_name_that_was_not_captured_is_missed(record: dict[str, Any]) -> None:
    """Then it can't be said that a secret has nothing of the card's names."""
    assert not own_names(record, {}).are_complete


@pytest.mark.parametrize(("text", "left"), [("Fen-UPS_01", "fenups01"), ("--", ""), ("Pühl 3", "pühl3")])
def test_a_text_is_made_compact(text: str, left: str) -> None:
    """Signs, blanks and case make no difference between names."""
    assert compact(text) == left
