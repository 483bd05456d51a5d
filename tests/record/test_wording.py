"""Errors against a schema, worded: found, allowed, what to do; and never a secret."""

from collections.abc import Mapping, Sequence
from typing import Any

import jsonschema_rs
import orjson
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.record.pointer import join, split
from auditor.record.schema import card_schema
from auditor.record.settings import Settings
from auditor.record.wording import describe_errors
from tests.record.mutations import compliant, holder, mutated, places

FAST = jsonschema_rs.Draft202012Validator(dict(card_schema()), validate_formats=True)
CANARY = "s3cr3t-canary"


def with_setting(pointer: str, value: object) -> Settings:
    """Return the compliant card with one setting changed or added."""
    card = compliant()
    steps = [int(token) if token.isdecimal() else token for token in split(pointer)]
    holder(card, tuple(steps))[steps[-1]] = value
    return card


def words(document: object, schema: Mapping[str, Any]) -> list[tuple[str, str, str]]:
    """Return pointer, problem and remedy of every error."""
    return [(join(path), problem, remedy) for path, problem, remedy in describe_errors(document, schema)]


FORMS = "expected an object with exactly one of clear, sealed, crypt, localized, empty; found"
AT = "/accounts/0/password"
CASES = [
    ("/services/telnt", {}, "/services/telnt", "no such member", "Did you mean telnet?"),
    ("/services/telnet/enabled", None, "", "null is refused", "Leave the member out if it is unknown."),
    (
        "/services/telnet/enabled",
        "yes",
        "",
        "expected true or false; found text",
        "Write true or false, without quotation marks.",
    ),
    (
        "/services/telnet/port",
        70000,
        "",
        "expected a whole number, 1 to 65535; found 70000",
        "What belongs here: Port the service listens on, 1 to 65535.",
    ),
    (
        "/equipment/feeds",
        "critcal",
        "",
        'expected one of life_safety, critical, production, office, lab; found "critcal"',
        "Did you mean critical?",
    ),
    (
        "/equipment/feeds",
        "control hall",
        "",
        'expected one of life_safety, critical, production, office, lab; found "control hall"',
        "What belongs here: The most important load behind the equipment.",
    ),
    (
        "/snmp/versions",
        ["three"],
        "/snmp/versions/0",
        'expected one of v1, v2c, v3; found "three"',
        "What belongs here: Versions that the agent answers.",
    ),
    (
        "/card/firmware_date",
        "2026-02-30",
        "",
        'expected a date such as 2026-11-25; found "2026-02-30"',
        "There is no such day or time: correct it.",
    ),
    (
        "/schema",
        "witnessmark/card-9",
        "",
        'expected "witnessmark/card-1"; found "witnessmark/card-9"',
        "Use the version of witnessmark that wrote it, or export it again.",
    ),
    (
        "/network/dns_servers",
        ["192.0.2.300"],
        "/network/dns_servers/0",
        'expected text such as 192.0.2.10; found "192.0.2.300"',
        "What belongs here: Addresses of the DNS servers.",
    ),
    (
        "/card/name",
        "x" * 200,
        "",
        f'expected text of 1 to 128 characters; found "{"x" * 39}…"',
        "What belongs here: Name for people.",
    ),
    (
        "/card/name",
        "a\u202eb\x1b" * 33,
        "",
        'expected text of 1 to 128 characters; found "' + "a\\u202eb\\u001b" * 9 + 'a\\u202eb…"',
        "What belongs here: Name for people.",
    ),
    (
        "/tls/versions",
        ["tls_1_2", "tls_1_3", "tls_1_2"],
        "/tls/versions/2",
        "an item stands twice in the list",
        "Remove one of the two.",
    ),
    (
        "/site_notes",
        7,
        "",
        "expected text of 1 to 65536 characters; found a number",
        "Write it in quotation marks.",
    ),
    (
        "/tls/certificate",
        {"pem": "-----BEGIN CERTIFICATE-----", "subject": "CN=x"},
        "/tls/certificate/subject",
        "this can't stand beside pem",
        "Keep either this or pem.",
    ),
    (
        "/network/allowed_sources",
        ["192.0.2.0/24"],
        "",
        "expected an object with exactly one of any, prefixes; found a list",
        'Write {"prefixes": [ … ]}.',
    ),
    (
        "/network/allowed_sources",
        True,
        "",
        "expected an object with exactly one of any, prefixes; found true",
        'Write {"any": true}.',
    ),
    (
        "/network/allowed_sources",
        {"any": True, "prefixes": []},
        "",
        "expected an object with exactly one of any, prefixes; found any and prefixes",
        "Keep the one that is true of the card.",
    ),
    (AT, "hunter2", "", f"{FORMS} text", 'Write {"clear": "…"}.'),
    (AT, "", "", f"{FORMS} empty text", 'Write {"empty": true}.'),
    (
        AT,
        "••••••••",
        "",
        f"{FORMS} text",
        "A masked value is not a secret. Leave the member out: it is unknown.",
    ),
    (AT, 7, "", f"{FORMS} a number", 'Write an object, for example {"clear": … }.'),
    (
        AT,
        {},
        "",
        f"{FORMS} none of them",
        "Add one, or leave the whole member out if it is unknown.",
    ),
    (
        AT,
        {"clear": ""},
        f"{AT}/clear",
        "expected text of 1 to 4096 characters; found empty text",
        'Write {"empty": true} if the secret is the empty text.',
    ),
    (
        AT,
        {"crypt": "hunter2"},
        f"{AT}/crypt",
        "expected text of the form below; found text",
        "What belongs here: Hash in crypt form, such as $6$salt$hash.",
    ),
]


@pytest.mark.parametrize(("at", "value", "pointer", "problem", "remedy"), CASES)
def test_an_error_says_what_was_found_what_is_allowed_and_what_to_do(
    at: str, value: object, pointer: str, problem: str, remedy: str
) -> None:
    """One wrong setting gives exactly one error, with its pointer and its words."""
    assert words(with_setting(at, value), card_schema()) == [(pointer or at, problem, remedy)]


def test_a_missing_member_is_named_with_what_to_write() -> None:
    """The pointer of a missing member ends in its name; a fixed value is given in full."""
    found = words({}, card_schema())
    assert found == [
        ("/schema", "this member is missing", 'Add "schema": "witnessmark/card-1".'),
        ("/card", "this member is missing", 'Add "card". Which card this is.'),
    ]


def test_a_ruleset_is_described_by_its_own_schema() -> None:
    """A schema with other keywords is worded as well, showing no values it does not mark."""
    schema = orjson.loads(
        b"""{"type": "object", "required": ["name"], "properties": {"name": {"type": "string"},
        "set": {"type": "array", "minItems": 1, "items": {"type": "object", "minProperties": 1,
            "properties": {"at": {}, "its": {}}, "oneOf": [{"required": ["at"]}, {"required": ["its"]}]}},
        "value": {"anyOf": [{"$ref": "#/$defs/scalar"}, {"type": "array", "items": {"type": "number"}}]}},
        "propertyNames": {"pattern": "^[a-z]+$", "examples": ["name"], "type": "string"},
        "additionalProperties": false,
        "$defs": {"scalar": {"type": ["string", "boolean"]}}}"""
    )
    document = {"set": [{"at": 1, "its": 2}, {}], "value": {"x": 1}, "BAD": 1}
    assert set(words(document, schema)) == {
        ("/name", "this member is missing", 'Add "name".'),
        ("/set/0", "expected an object with exactly one of at, its; found at and its", _KEEP),
        ("/set/1", "expected at least 1 member; found 0", "Write at least 1."),
        (
            "/value",
            "expected text or true or false, or a list; found an object",
            "Write a value of this kind.",
        ),
        ("/BAD", "expected text such as name; found text", "Write a value of this form."),
    }
    assert words({"name": "x", "value": [1, "2"]}, schema) == [
        (
            "/value/1",
            "expected a number; found text",
            "Write the number alone, without quotation marks or unit.",
        ),
    ]
    assert words({"name": "x", "set": []}, schema) == [
        ("/set", "expected at least 1 item; found 0", "Write at least 1."),
    ]


_KEEP = "Keep the one that is true of the card."


@settings(max_examples=300, deadline=None)
@given(mutated())
def test_fast_and_slow_validators_agree(card: Settings) -> None:
    """There is an error to word exactly if the compiled validator refuses the record."""
    assert (list(describe_errors(card, card_schema())) == []) == FAST.is_valid(card)


@settings(max_examples=100, deadline=None)
@given(mutated())
def test_each_place_has_one_error(card: Settings) -> None:
    """No place is reported twice, whatever is wrong with it."""
    pointers = [pointer for pointer, _, _ in words(card, card_schema())]
    assert len(pointers) == len(set(pointers))


SPOILT: Sequence[object] = (
    CANARY,
    [CANARY],
    {"clear": [CANARY]},
    {"clear": CANARY, "sealed": {}},
    {"clear": CANARY, "hint": CANARY},
    {"claer": CANARY},
    {"clear": CANARY * 1000},
    {"crypt": CANARY},
    {"localized": CANARY},
    {"empty": CANARY},
    {"sealed": CANARY},
    {"sealed": {"tag": CANARY, "length": 0}},
    {"sealed": {"listed": CANARY}},
)


@settings(max_examples=200, deadline=None)
@given(st.sampled_from(SPOILT), st.data())
def test_no_error_repeats_a_secret(spoilt: object, data: st.DataObject) -> None:
    """However a secret is spoilt, no word of the errors holds it."""
    card = compliant()
    secrets = [at[:-1] for at in places(card) if at[-1] in ("clear", "crypt", "sealed", "localized")]
    at = data.draw(st.sampled_from(secrets))
    holder(card, at)[at[-1]] = spoilt
    found = words(card, card_schema())
    assert found
    assert CANARY not in str(found)
