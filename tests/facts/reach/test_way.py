"""Which of two ways is easier: in every respect as easy, in one easier, and only where that is sure."""

from typing import Any, Final

import pytest

from auditor.facts.reach.way import BY_DIRECTORY, Channel, Grade, Origin, Place, Proof, Way, is_easier


def _grade(easiest: Proof, hardest: Proof | None = None) -> Grade:
    return Grade(easiest, hardest or easiest)


ANYWHERE: Final = Origin(Place.NETWORK, True, (), 1 << 32, 1 << 128)  # noqa: FBT003 - as a way has it
LISTED: Final = Origin(Place.NETWORK, prefixes=("192.0.2.0/28",), ipv4_addresses=16)
WITHIN: Final = Origin(Place.NETWORK, prefixes=("192.0.2.0/30",), ipv4_addresses=4)
APART: Final = Origin(Place.NETWORK, prefixes=("198.51.100.0/28",), ipv4_addresses=16)
NOT_KNOWN: Final = Origin(Place.NETWORK, None, None, None, None, None)
WAY: Final = Way(
    channel=Channel.HTTP,
    party="account a",
    pointer="/services/http/enabled",
    settings=(),
    is_open=True,
    reads=True,
    configures=False,
    switches=True,
    grade=_grade(Proof.WEAK),
    proof_at="/accounts/0/password",
    in_clear=True,
    origin=LISTED,
)


@pytest.mark.parametrize(
    "harder",
    [
        {"grade": _grade(Proof.ADEQUATE)},
        {"grade": _grade(Proof.ADEQUATE, Proof.STRONG)},
        {"grade": _grade(Proof.WEAK, Proof.STRONG), "in_clear": False},
        {"in_clear": False},
        {"switches": False},
        {"reads": False},
        {"origin": WITHIN, "in_clear": False},
        {"condition": "while the directory can't be reached"},
    ],
)
def test_a_way_is_easier_than_one_that_is_harder_in_one_respect(harder: dict[str, Any]) -> None:
    """All else being equal; and never the other way round."""
    other = WAY._replace(**harder)
    assert is_easier(WAY, other)
    assert not is_easier(other, WAY)


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"grade": _grade(Proof.NONE, Proof.STRONG)},
        {"grade": _grade(Proof.WEAK, Proof.STRONG)},
        {"grade": BY_DIRECTORY},
        {"in_clear": None},
        {"switches": None},
        {"configures": None, "grade": _grade(Proof.ADEQUATE)},
        {"grade": _grade(Proof.ADEQUATE), "in_clear": False, "configures": True},
        {"grade": _grade(Proof.ADEQUATE), "origin": APART},
        {"grade": _grade(Proof.ADEQUATE), "origin": ANYWHERE},
        {"grade": _grade(Proof.ADEQUATE), "origin": NOT_KNOWN},
        {"grade": _grade(Proof.ADEQUATE), "origin": Origin(Place.PRESENCE)},
    ],
)
def test_a_way_is_not_easier_than_one_that_is_easier_or_unknown_in_another(change: dict[str, Any]) -> None:
    """Neither equal ways, nor unlike places, nor what is not known: that is never sure."""
    assert not is_easier(WAY, WAY._replace(**change))


def test_a_wider_list_takes_in_a_narrower_one_and_any_address_takes_in_both() -> None:
    """From where counts as a whole: prefixes that hold the others."""
    harder = WAY._replace(grade=_grade(Proof.STRONG))
    assert is_easier(WAY, harder._replace(origin=WITHIN))
    assert not is_easier(WAY._replace(origin=WITHIN), harder)
    assert is_easier(WAY._replace(origin=ANYWHERE), harder)
    assert is_easier(WAY._replace(origin=ANYWHERE), WAY)


def test_no_proof_is_easier_than_a_directory_and_nothing_else_is() -> None:
    """What a directory asks is not known, but it asks something."""
    by_directory = WAY._replace(grade=BY_DIRECTORY)
    assert is_easier(WAY._replace(grade=_grade(Proof.NONE)), by_directory)
    assert not is_easier(WAY._replace(grade=_grade(Proof.WELL_KNOWN)), by_directory)


def test_a_way_that_may_be_closed_is_easier_than_none() -> None:
    """It may not be there at all."""
    assert not is_easier(WAY._replace(is_open=None), WAY._replace(grade=_grade(Proof.STRONG)))
    assert is_easier(WAY, WAY._replace(is_open=None, grade=_grade(Proof.STRONG)))


def test_one_unknown_proof_is_as_easy_as_itself() -> None:
    """The same account, over a channel that is heard and over one that is not."""
    unknown = WAY._replace(grade=_grade(Proof.NONE, Proof.STRONG))
    assert is_easier(unknown, unknown._replace(in_clear=False))
    assert not is_easier(unknown, unknown._replace(in_clear=False, proof_at="/accounts/1/password"))
