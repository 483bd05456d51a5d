"""Digests of the parts of a record: equal where the parts are."""

import copy

import orjson

from auditor.record.digests import APART, digests_of
from auditor.record.settings import Settings
from tests.rules.matrix import ROOT

CARD: Settings = orjson.loads((ROOT / "fixtures/cards/compliant.json").read_bytes())


def test_one_setting_changes_the_digest_of_its_part_alone() -> None:
    """Every section once, and every member of those that are told member by member."""
    before = digests_of(CARD)
    for name, section in CARD.items():
        for member in section if name in APART else [""]:
            changed = copy.deepcopy(CARD)
            if member:
                changed[name][member] = "another"
            else:
                changed[name] = "another"
            after = digests_of(changed)
            part = f"{name}/{member}" if member else name
            assert {each for each in before if before[each] != after[each]} == {part}


def test_what_is_not_there_differs_from_what_is_empty() -> None:
    """An absent section is unknown, an empty one was captured."""
    for name in ("mail", "tls"):
        assert digests_of({name: {}})[name] != digests_of({})[name]
    digests = digests_of({"tls": {"versions": []}})
    assert digests["tls/versions"] != digests["tls/cipher_suites"]
