"""Findings are known again over audits: by card, rule and what names the member."""

import random
from collections.abc import Mapping, Sequence
from typing import Any

import orjson
import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.facts.fact import Context
from auditor.record.pointer import split
from auditor.record.reading import read_record
from auditor.record.schema import card_schema, members_at
from auditor.rules.evidence import is_shown
from auditor.scoring.assessment import CardAssessment, assess
from auditor.scoring.identity import FURTHER, NAMES, FindingIdentity, identities, member_keys
from tests.report.sample import poor_card
from tests.rules.matrix import AS_OF, program
from tests.rules.mutation import random_card


def judged(card: dict[str, Any]) -> CardAssessment:
    """Return what the shipped rules say of a card."""
    record = read_record(orjson.dumps(card), "card.json")
    return assess(record, program({}), Context(AS_OF), compiled=False)


def known_by(card: dict[str, Any]) -> list[FindingIdentity]:
    """Return the identities of all findings and gaps of a card."""
    assessment = judged(card)
    return list(identities(card, [*assessment.findings, *assessment.missing]))


@pytest.mark.parametrize(
    ("members", "keys"),
    [
        ([{"name": "admin"}, {"name": "guest"}], ("name=admin", "name=guest")),
        ([{"host": "192.0.2.7", "port": 1812}], ("host=192.0.2.7",)),
        (
            [{"host": "192.0.2.7", "port": 1812}, {"host": "192.0.2.7", "port": 2083}],
            ("host=192.0.2.7/port=1812", "host=192.0.2.7/port=2083"),
        ),
        ([{"name": "a/b"}, {"name": "a~b"}], ("name=a~1b", "name=a~0b")),
        ([{"name": "x"}, {"name": "x"}], ("name=x/nth=1", "name=x/nth=2")),
        ([{"name": "nth=1"}, {}, {}], ("name=nth=1", "nth=1", "nth=2")),
        ([{"enabled": True}], ("nth=1",)),
        ([{"name": "x", "host": "a"}, {"name": "x", "host": "b"}], ("name=x/host=a", "name=x/host=b")),
        ([{"day": "monday", "time": "02:00"}], ("day=monday",)),
        ([], ()),
    ],
)
def test_a_member_is_known_by_what_names_it(
    members: Sequence[Mapping[str, Any]], keys: Sequence[str]
) -> None:
    """By name or host; by more only where that is not enough; by its place only at last."""
    assert member_keys(members) == keys


@given(
    st.lists(
        st.dictionaries(
            st.sampled_from(["name", "host", "port", "level", "enabled"]),
            st.sampled_from(["a", "b", "nth=1", "a/nth=1", "", "~1", 1]),
        ),
        max_size=8,
    )
)
def test_no_two_members_of_a_list_have_the_same_key(members: list[dict[str, Any]]) -> None:
    """Whatever the names are, even those that look like a key."""
    assert len(set(member_keys(members))) == len(members)


@pytest.mark.parametrize("seed", range(30))
def test_no_two_findings_of_a_card_have_the_same_identity(seed: int) -> None:
    """Over random cards, gaps included."""
    found = known_by(random_card(random.Random(seed)))  # noqa: S311 - made-up data
    assert len(set(found)) == len(found)


def test_identities_outlive_another_order_and_another_form_of_the_file() -> None:
    """Lists turned round, members of objects sorted: the same findings under the same names."""
    card = poor_card()
    turned = orjson.loads(orjson.dumps(card, option=orjson.OPT_SORT_KEYS | orjson.OPT_INDENT_2))
    turned["accounts"].reverse()
    turned["snmp"]["communities"].reverse()
    before, after = known_by(card), known_by(turned)
    assert any(one.member for one in before)
    assert sorted(before) == sorted(after)
    assert {one.fingerprint for one in before} == {one.fingerprint for one in after}


def test_a_member_more_leaves_the_identities_of_the_others() -> None:
    """An account that comes first moves all places, and no name."""
    card = poor_card()
    before = set(known_by(card))
    card["accounts"].insert(0, {"name": "first", "enabled": False, "is_shared": False})
    assert before <= set(known_by(card)) | {one for one in before if not one.member}


def test_a_fingerprint_is_no_secret_and_differs_with_each_part() -> None:
    """Card, rule and member can't be mistaken for one another."""
    made = [("ab", "c", ""), ("a", "bc", ""), ("a", "b", "c"), ("a", '"b', "c"), ("ab", "", "c")]
    digests = {FindingIdentity(*parts).fingerprint for parts in made}
    assert len(digests) == len(made)
    assert all(len(digest) == 32 for digest in digests)


def test_all_that_names_a_member_may_be_shown() -> None:
    """A name goes into files that outlive the report: no setting that is hidden may be one."""
    names = (*NAMES, *FURTHER)
    hidden = [
        f"{pointer}/0/{name}" for pointer in _lists(dict(card_schema()), "") for name in names
        if not is_shown(f"{pointer}/0/{name}") and f"/{name}" in _members(f"{pointer}/0")
    ]  # fmt: skip
    assert hidden == []


def _lists(node: dict[str, Any], pointer: str) -> list[str]:
    while "$ref" in node:
        node = card_schema()["$defs"][node["$ref"].removeprefix("#/$defs/")]
    found = [pointer] if node.get("type") == "array" else []
    for name, inner in node.get("properties", {}).items():
        found += _lists(inner, f"{pointer}/{name}")
    return found


def _members(pointer: str) -> set[str]:
    return {f"/{name}" for name in members_at(split(pointer))}
