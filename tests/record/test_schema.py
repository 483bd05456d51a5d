"""The schema of a record: sound in itself, and safe for what rests on it."""

from collections.abc import Iterator, Mapping
from datetime import UTC, date, datetime
from ipaddress import ip_address, ip_network
from typing import Any

import jsonschema_rs
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from auditor.record.limits import DEFAULT
from auditor.record.schema import card_schema, members_at, place_at
from tests.record.mutations import compliant

Node = Mapping[str, Any]


def nodes(node: Node, path: str = "#") -> Iterator[tuple[str, Node]]:
    """Yield every schema inside a schema, with its path."""
    yield path, node
    for keyword in ("properties", "$defs"):
        for name, inner in node.get(keyword, {}).items():
            yield from nodes(inner, f"{path}/{keyword}/{name}")
    for index, inner in enumerate(node.get("oneOf", ())):
        yield from nodes(inner, f"{path}/oneOf/{index}")
    if "items" in node:
        yield from nodes(node["items"], f"{path}/items")


def depth_of(node: Node) -> int:
    """Return how many brackets deep a record can nest at most."""
    if "$ref" in node:
        return depth_of(card_schema()["$defs"][node["$ref"].removeprefix("#/$defs/")])
    inner = [*node.get("properties", {}).values(), *([node["items"]] if "items" in node else [])]
    choices = max((depth_of(branch) for branch in node.get("oneOf", ())), default=0)
    own = 1 + max(map(depth_of, inner), default=0) if node.get("type") in ("object", "array") else 0
    return max(own, choices)


def definition(name: str) -> jsonschema_rs.Draft202012Validator:
    """Return a validator of one named definition."""
    return jsonschema_rs.Draft202012Validator(dict(card_schema()["$defs"][name]), validate_formats=True)


def test_the_schema_is_a_schema() -> None:
    """The schema validates against the meta-schema of JSON Schema 2020-12."""
    Draft202012Validator.check_schema(card_schema())
    assert card_schema()["$schema"] == "https://json-schema.org/draft/2020-12/schema"


def test_every_object_is_closed() -> None:
    """No object lets an unknown member through."""
    open_ones = [
        at
        for at, n in nodes(card_schema())
        if n.get("type") == "object" and n.get("additionalProperties", True)
    ]
    assert open_ones == []


def test_every_list_is_bounded() -> None:
    """No list may be longer than the default limit, so the fast path need not count items."""
    found = [
        at
        for at, n in nodes(card_schema())
        if n.get("type") == "array" and n.get("maxItems", 10**9) > DEFAULT.items
    ]
    assert found == []


def test_no_record_nests_as_deep_as_the_limit() -> None:
    """The schema itself bounds the depth, so the fast path need not measure it."""
    assert depth_of(card_schema()) <= DEFAULT.depth


def test_every_member_has_title_and_description() -> None:
    """Each member says what it is called and what it means."""
    members = [
        (f"{at}/{name}", inner)
        for at, n in nodes(card_schema())
        for name, inner in n.get("properties", {}).items()
    ]
    assert [at for at, inner in members if not (inner.get("title") and inner.get("description"))] == []


def test_no_type_allows_null() -> None:
    """Null is no value anywhere."""
    assert [at for at, node in nodes(card_schema()) if "null" in str(node.get("type"))] == []


def test_secrets_are_never_shown() -> None:
    """No form of a secret that holds it, or a hash or key of it, is marked safe to show."""
    secret = card_schema()["$defs"]["secret"]
    held = {
        name: inner for b in secret["oneOf"] for name, inner in b["properties"].items() if name != "empty"
    }
    shown = [name for name, inner in held.items() if inner.get("shown")]
    assert (sorted(held), shown) == (["clear", "crypt", "localized", "sealed"], [])
    assert not held["sealed"]["properties"]["tag"].get("shown")


def test_only_a_secret_has_a_member_named_clear() -> None:
    """The quick check for masked values looks for this name, so it must mean one thing."""
    assert [at for at, n in nodes(card_schema()) if "clear" in n.get("properties", {})] == [
        "#/$defs/secret/oneOf/0"
    ]


def test_every_example_is_valid() -> None:
    """What a message gives as an example is itself accepted."""
    for _, node in nodes(card_schema()):
        for example in node.get("examples", ()):
            assert jsonschema_rs.Draft202012Validator(dict(node), validate_formats=True).is_valid(example)


def test_the_compliant_card_is_valid() -> None:
    """The exemplary card satisfies the schema for the slow validator as well."""
    assert Draft202012Validator(card_schema()).is_valid(compliant())


DIGITS = st.integers(0, 99).map("{:02}".format)
DATES = st.tuples(
    st.sampled_from(["0000", "0999", "1970", "2024", "2026", "2999", "9999"]), DIGITS, DIGITS
).map("-".join)
OFFSETS = st.sampled_from(["Z", "z", "", "+00:00", "-23:59", "+24:00", "+0100"])
FRACTIONS = st.sampled_from(["", ".1", ".123456789", "."])


@given(DATES | st.dates().map(date.isoformat))
def test_an_accepted_date_can_be_computed_with(text: str) -> None:
    """What the schema accepts as a date, the standard library parses."""
    if definition("date").is_valid(text):
        assert date.fromisoformat(text).isoformat() == text


@given(st.builds("{}T{}:{}:{}{}{}".format, DATES, DIGITS, DIGITS, DIGITS, FRACTIONS, OFFSETS))
def test_an_accepted_time_can_be_computed_with(text: str) -> None:
    """What the schema accepts as a time has an offset and can be brought to UTC."""
    if definition("date_time").is_valid(text):
        moment = datetime.fromisoformat(text)
        assert moment.astimezone(UTC) == moment


@pytest.mark.parametrize(
    "text", ["2026-11-25T12:00:00+00:00", "1970-01-01T00:00:00Z", "2026-11-25T12:00:00.5-07:00"]
)
def test_ordinary_times_are_accepted(text: str) -> None:
    """RFC 3339 section 5.6 times with an offset are accepted."""
    assert definition("date_time").is_valid(text)


GROUPS = st.lists(st.sampled_from(["0", "1", "ffff", "10000", "192.0.2.1", ""]), max_size=9).map(":".join)
OCTETS = st.lists(st.sampled_from(["0", "1", "01", "255", "256"]), min_size=3, max_size=5).map(".".join)
ADDRESSES = GROUPS | OCTETS | st.ip_addresses().map(str)


@given(ADDRESSES)
def test_addresses_are_those_of_the_standard_library(text: str) -> None:
    """The pattern for an address accepts exactly what the standard library parses."""
    assert definition("ip_address").is_valid(text) == _parses(text)


def _parses(text: str) -> bool:
    try:
        ip_address(text)
    except ValueError:
        return False
    return True


@given(ADDRESSES, st.sampled_from(["", "/0", "/24", "/32", "/33", "/64", "/128", "/129", "/-1", "/ 8"]))
def test_an_accepted_prefix_can_be_computed_with(address: str, length: str) -> None:
    """What the schema accepts as a prefix, the standard library parses."""
    if definition("prefix").is_valid(address + length):
        assert ip_network(address + length, strict=False).prefixlen == int(length[1:])


def test_a_place_is_described_through_references_and_lists() -> None:
    """An index stands for any member; references and choices are followed."""
    port, name = place_at(("services", "telnet", "port")), place_at(("accounts", "7", "name"))
    assert port is not None
    assert (port.kind, port.shown) == ("number", True)
    assert name is not None
    assert (name.kind, name.shown) == ("text", True)
    clear = place_at(("accounts", "0", "password", "clear"))
    assert clear is not None
    assert clear.shown is False
    assert place_at(("services", "telnt")) is None


def test_known_members_are_listed_sorted() -> None:
    """The names known at a place come sorted, those of every branch of a choice included."""
    assert members_at(("network", "allowed_sources")) == ("any", "prefixes")
    assert members_at(("services", "telnet", "port")) == ()
