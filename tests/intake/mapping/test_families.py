"""Three invented families of cards, two cards each, from their exports to records.

The expected records were checked by hand, setting by setting, against the exports.
"""

import json
from collections.abc import Mapping
from typing import Final

import pytest

from auditor.intake.imported import Imported
from auditor.intake.mapping.applying import apply_map
from auditor.intake.mapping.checking import check_map
from auditor.record.pointer import split, value_at
from tests.intake.mapping.samples import FAMILIES, MAPS, as_record, family_map

LOST: Final[Mapping[str, Mapping[str, str]]] = {
    "wvl-ups-store": {
        "people/person[2]/secret": "a masked value is not a secret",
        "management-protocol/people/user/auth-secret": "a masked value is not a secret",
        "management-protocol/people/user/priv-secret": "a masked value is not a secret",
    },
    "wvl-sts-hall": {
        "power/@runtime": "not a span of time",
        "entry-rules/secret-age": "a number with a unit that does not fit this setting",
        "entry-rules/idle": "not a span of time",
        "clock/@every": "not a span of time",
        "post/secret": "a masked value is not a secret",
        "management-protocol/people/user/auth-secret": "a masked value is not a secret",
        "management-protocol/people/user/priv-secret": "a masked value is not a secret",
    },
    "rsv-ups-pumps": {
        "people > Account 1 > Password": "a masked value is not a secret",
        "people > Account 2 > Password": "a masked value is not a secret",
        "stop > Computer 1 > Key": "a masked value is not a secret",
    },
    "rsv-ups-valves": {
        "services > Plain web pages": "no word for true or false that is known (yes, no)",
        "people > Rules > Shut out for": "a number without a unit, and the map states none (unit)",
        "people > Account 1 > Password": "a masked value is not a secret",
    },
    "mkt-pdu-row-2": {
        "/doors/wifi/phrase": "a masked value is not a secret",
        "/logins/local/poller/hash": "a masked value is not a secret",
    },
    "mkt-hub-row-9": {
        "/unit/code/day": "not of the form that the map states (form)",
        "/unit/feeds": "no word that the map or the schema knows (words)",
        "/doors/wifi/phrase": "a masked value is not a secret",
        "/logins/rules/idle": "two numbers with a colon: the map must say which (form hh:mm or mm:ss)",
        "/logins/rules/seats": "a group of settings stands here, not one value",
        "/time/every": "not a span of time",
        "/upkeep/backup/kept": "no word that the map or the schema knows (words)",
        "/lan/ports/0/hw": "not a hardware address",
        "/logins/local/admin/hash": (
            'an empty text: if it means an empty secret, let the map say so (none = [""])'
        ),
        "/logins/local/guest/is": "no word that the map or the schema knows (words)",
        "/logins/local/guest/hash": "a masked value is not a secret",
        "/logins/local/guest/changed": "no day of the calendar",
        "/snmp/sinks/0/about/0": "no word that the map or the schema knows (words)",
        "/air/spots/0/warn": "expected a number, -60 to 150",
    },
}
"""What each card loses: the place in its export, and why."""

UNMAPPED: Final[Mapping[str, tuple[str, ...]]] = {
    "wvl-ups-store": (),
    "wvl-sts-hall": (),
    "rsv-ups-pumps": ("care > Beep",),
    "rsv-ups-valves": ("care > Beep",),
    "mkt-pdu-row-2": (),
    "mkt-hub-row-9": ("/lan/let-in/*", "/logins/rules/seats/web", "/logins/rules/seats/shell"),
}


def card(family: str, file: str) -> Imported:
    """Return what the map of a family makes of one export."""
    [one] = apply_map(family_map(family), (MAPS / family / file).read_bytes(), file)
    return one


@pytest.mark.parametrize(("family", "file"), FAMILIES)
def test_an_export_becomes_the_expected_record(family: str, file: str) -> None:
    """Setting by setting, and the schema takes it."""
    one = card(family, file)
    expected = (MAPS / family / f"{one.card_id}.record.json").read_bytes()
    assert as_record(one) == json.loads(expected)
    assert one.card_id == file.partition(".")[0]


@pytest.mark.parametrize(("family", "file"), FAMILIES)
def test_what_is_lost_and_what_is_unmapped_is_told(family: str, file: str) -> None:
    """Exactly these, each with its place and why; lines lead to them."""
    one = card(family, file)
    assert {lost.origin.at: lost.why for lost in one.lost} == LOST[one.card_id]
    assert one.unmapped == UNMAPPED[one.card_id]
    assert all(lost.origin.line for lost in one.lost)


@pytest.mark.parametrize(("family", "file"), FAMILIES)
def test_every_leaf_has_its_origin(family: str, file: str) -> None:
    """Settings and origins agree: each leaf, whole secret or whole list came from somewhere."""
    one = card(family, file)
    assert all(value_at(one.settings, split(pointer)) is not None for pointer in one.origins)
    assert set(_leaves(one.settings, "")) == set(one.origins)


def _leaves(value: object, at: str) -> list[str]:
    if isinstance(value, dict) and not {"clear", "crypt", "localized", "empty", "any", "prefixes"} & set(
        value
    ):
        return [leaf for name, inner in value.items() for leaf in _leaves(inner, f"{at}/{name}")]
    if isinstance(value, list) and value and isinstance(value[0], dict):
        return [leaf for n, inner in enumerate(value) for leaf in _leaves(inner, f"{at}/{n}")]
    return [at]


@pytest.mark.parametrize(("family", "file"), FAMILIES)
def test_the_check_tells_the_same_without_secrets(family: str, file: str) -> None:
    """What is taken, lost and unmapped agrees with the import; no secret's value is in it."""
    text = (MAPS / family / file).read_bytes()
    one, [check] = card(family, file), check_map(family_map(family), text, file).cards
    assert [taken.pointer for taken in check.taken] == list(one.origins)
    assert (check.lost, check.unmapped) == (one.lost, one.unmapped)
    secrets = [taken for taken in check.taken if taken.value is None]
    shown = {"password", "community", "passphrase", "secret", "auth_secret", "priv_secret", "text"}
    assert {taken.pointer.rpartition("/")[2] for taken in secrets} <= shown


def test_the_check_tells_which_places_the_sample_does_not_have() -> None:
    """With the line of the map, so that its author finds them; blank places apart."""
    text = (MAPS / "card-family-c" / "mkt-hub-row-9.json").read_bytes()
    [check] = check_map(family_map("card-family-c"), text, "x.json").cards
    absent = {silent.to: silent.line for silent in check.absent}
    assert "/services/rest_api/enabled" in absent
    lines = (MAPS / "card-family-c.toml").read_text(encoding="utf-8").splitlines()
    assert all(to.endswith(lines[line].split('"')[1]) for to, line in absent.items())
    assert [origin.at for origin in check.blank] == [
        "/lan/ports/0/tag",
        "/lan/ports/0/wall/eap",
        "/logins/local/admin/changed",
        "/snmp/communities/1",
        "/snmp/sinks/0/as",
    ]
