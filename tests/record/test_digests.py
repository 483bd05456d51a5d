"""Digests of the parts of a record: equal where the parts are."""

import copy

import orjson

from auditor.record.digests import APART, taken_apart
from auditor.record.settings import Settings
from tests.rules.matrix import ROOT

CARD: Settings = orjson.loads((ROOT / "fixtures/cards/compliant.json").read_bytes())


def test_one_setting_changes_the_digest_of_its_part_alone() -> None:
    """Every section once, and every member of those that are told member by member."""
    before = taken_apart(CARD).digests
    for name, section in CARD.items():
        for member in section if name in APART else [""]:
            changed = copy.deepcopy(CARD)
            if member:
                changed[name][member] = "another"
            else:
                changed[name] = "another"
            after = taken_apart(changed).digests
            part = f"{name}/{member}" if member else name
            assert {each for each in before if before[each] != after[each]} == {part}


def test_what_is_not_there_differs_from_what_is_empty() -> None:
    """An absent section is unknown, an empty one was captured."""
    for name in ("mail", "tls"):
        assert taken_apart({name: {}}).digests[name] != taken_apart({}).digests[name]
    digests = taken_apart({"tls": {"versions": []}}).digests
    assert digests["tls/versions"] != digests["tls/cipher_suites"]


def test_the_parts_make_the_whole_text() -> None:
    """It is the text that the parser's own writer makes of all settings at once."""
    assert taken_apart(CARD).text == orjson.dumps(CARD)
