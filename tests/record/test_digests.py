"""Digests of the parts of a record: equal where the parts are, and the text beside them is the text."""

import copy

import orjson

from auditor.record.digests import APART, written_with_digests
from auditor.record.settings import Settings
from tests.rules.matrix import ROOT

CARD: Settings = orjson.loads((ROOT / "fixtures/cards/compliant.json").read_bytes())


def test_the_text_is_that_of_the_whole() -> None:
    """So it tells, compared with what was read, whether a name stood twice."""
    assert written_with_digests(CARD)[0] == orjson.dumps(CARD)
    assert written_with_digests({"card": {}, "tls": {}})[0] == b'{"card":{},"tls":{}}'


def test_one_setting_changes_the_digest_of_its_part_alone() -> None:
    """Every section once, and every member of those that are told member by member."""
    before = written_with_digests(CARD)[1]
    for name, section in CARD.items():
        for member in section if name in APART else [""]:
            changed = copy.deepcopy(CARD)
            if member:
                changed[name][member] = "another"
            else:
                changed[name] = "another"
            after = written_with_digests(changed)[1]
            part = f"{name}/{member}" if member else name
            assert {each for each in before if before[each] != after[each]} == {part}


def test_what_is_not_there_differs_from_what_is_empty() -> None:
    """An absent section is unknown, an empty one was captured."""
    for name in ("mail", "tls"):
        assert written_with_digests({name: {}})[1][name] != written_with_digests({})[1][name]
    digests = written_with_digests({"tls": {"versions": []}})[1]
    assert digests["tls/versions"] != digests["tls/cipher_suites"]
