"""Marks: sealed, stable, of their schema, and evident if anybody alters anything in them."""

import hashlib
import hmac
import json
from typing import Any

import jsonschema
import orjson
import pytest
import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from auditor.change.mark import Mark, Seal, make_mark, mark_schema, read_mark
from auditor.errors import RecordError
from auditor.facts.fact import Context
from auditor.facts.sealing import key_name
from tests.change.states import SMALL, record
from tests.report.sample import AS_OF, SECRET, good_card, poor_card

KEY = bytes(range(32))
OTHER = bytes(range(1, 33))
CONTEXT = Context(AS_OF)


def text_of(key: bytes | None = KEY, card: dict[str, Any] | None = None) -> bytes:
    """Return the text of a mark."""
    return make_mark(record(card or good_card()), "N. Adeyemi", CONTEXT, SMALL, key)


def read(text: bytes, key: bytes | None = KEY) -> Mark:
    """Read a mark."""
    return read_mark(text, "marks/north-ups-01.json", key)


@pytest.mark.parametrize("key", [KEY, None])
def test_a_mark_is_read_as_it_was_made(key: bytes | None) -> None:
    """Who, when, which record, by which rules; and it is whole."""
    mark = read(text_of(key), key)
    assert (mark.card_id, mark.by, mark.at) == ("north-ups-01", "N. Adeyemi", "2026-11-25T12:00:00+00:00")
    assert mark.record_digest == f"sha256:{record(good_card()).digest}"
    assert mark.rulesets == ("sample 1.2", "site own")
    assert mark.seal is Seal.WHOLE


def test_a_mark_holds_to_its_schema_and_its_settings_to_that_of_records() -> None:
    """With key and without."""
    jsonschema.Draft202012Validator.check_schema(mark_schema())
    for key in (KEY, None):
        document = orjson.loads(text_of(key))
        assert list(jsonschema.Draft202012Validator(mark_schema()).iter_errors(document)) == []
        assert record(document["settings"]).card_id == "north-ups-01"


def test_a_mark_is_stable_and_small_differences_stay_small() -> None:
    """Equal input, equal bytes; one setting changed, one line and the digests."""
    assert text_of() == text_of()
    renamed = good_card()
    renamed["card"]["name"] = "UPS B"
    pairs = zip(text_of().splitlines(), text_of(card=renamed).splitlines(), strict=True)
    lines = [old.split(b":")[0].strip() for old, new in pairs if old != new]
    assert lines == [b'"digest"', b'"digest"', b'"name"', b'"hmac_sha256"']


@pytest.mark.parametrize("key", [KEY, None])
def test_no_clear_secret_is_in_a_mark(key: bytes | None) -> None:
    """Neither as it is nor in hexadecimal; without a key there is no tag of it either."""
    text = text_of(key, poor_card())
    assert SECRET.encode() not in text
    assert SECRET.encode().hex().encode() not in text
    sealed = orjson.loads(text)["settings"]["accounts"][0]["password"]["sealed"]
    assert ("tag" in sealed, "key" in sealed) == (key is not None, key is not None)


def test_two_marks_without_a_key_say_nothing_of_each_other() -> None:
    """The same secret and another one of the same kind give the same text."""
    other = good_card()
    other["accounts"][0]["password"]["clear"] = "m0use-w4rren-"
    one, two = (orjson.loads(text_of(None, card))["settings"]["accounts"][0] for card in (good_card(), other))
    assert one == two


def test_the_digest_is_sha_256_over_canonical_json() -> None:
    """Worked out anew from the standards: RFC 8785, FIPS 180-4; the tag by RFC 2104 under the key."""
    document = orjson.loads(text_of())
    digest, tag = document.pop("digest"), document.pop("tag")
    body = rfc8785.dumps(document)
    assert digest == f"sha256:{hashlib.sha256(body).hexdigest()}"
    expected = hmac.new(KEY, b"witnessmark/mark-1\0" + body, "sha256").hexdigest()
    assert tag == {"key": key_name(KEY), "hmac_sha256": expected}


def test_canonical_json_is_that_of_the_standard() -> None:
    """Source: RFC 8785 section 3.2.2, the sample of numbers and strings (from memory) and its form."""
    data = json.loads(
        '{"numbers":[333333333.33333329,1E30,4.50,2e-3,0.000000000000000000000000001],'
        '"string":"\\u20ac$\\u000F\\u000aA\'\\u0042\\u0022\\u005c\\\\\\"\\/","literals":[null,true,false]}'
    )
    assert rfc8785.dumps(data).decode() == (
        '{"literals":[null,true,false],"numbers":[333333333.3333333,1e+30,4.5,0.002,1e-27],'
        '"string":"€$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    )


def _paths(value: Any, at: tuple[Any, ...] = ()) -> list[tuple[Any, ...]]:
    if isinstance(value, dict):
        return [path for name, inner in value.items() for path in _paths(inner, (*at, name))]
    if isinstance(value, list):
        return [path for place, inner in enumerate(value) for path in _paths(inner, (*at, place))]
    return [at]


MARKED = orjson.loads(text_of())
PLACES = [path for path in _paths(MARKED) if path[0] not in ("schema", "tag")]


def _altered(path: tuple[Any, ...]) -> bytes:
    document = orjson.loads(text_of())
    value = document
    for token in path[:-1]:
        value = value[token]
    held = value[path[-1]]
    if isinstance(held, bool):
        value[path[-1]] = not held
    elif isinstance(held, int):
        value[path[-1]] = held + 1
    elif held.startswith("sha256:"):
        value[path[-1]] = "sha256:" + "0" * 64
    else:
        value[path[-1]] = {"critical": "office", "ups": "pdu", "read": "write"}.get(held, _other(held))
    return orjson.dumps(document)


def _other(text: str) -> str:
    """Return a text of the same form: its last letter or digit is another one."""
    last = text[-1]
    return text[:-1] + ("1" if last == "0" else "0" if last.isdigit() else "b" if last == "a" else "a")


@pytest.mark.parametrize("path", PLACES, ids=lambda path: "/".join(map(str, path)))
def test_whatever_is_altered_is_evident(path: tuple[Any, ...]) -> None:
    """One value after the other: the digest tells it, or the schema refuses it; nothing passes."""
    try:
        mark = read(_altered(path))
    except RecordError:
        return
    assert mark.seal is Seal.ALTERED


def test_who_makes_the_digest_anew_is_told_by_the_tag() -> None:
    """Without the key the digest fits, and nobody sees it: that is what the tag is for."""
    document = orjson.loads(text_of())
    tag = document.pop("tag")
    del document["digest"]
    document["approved"]["by"] = "Somebody Else"
    document["digest"] = f"sha256:{hashlib.sha256(rfc8785.dumps(document)).hexdigest()}"
    forged = orjson.dumps({**document, "tag": tag})
    assert read(forged, None).seal is Seal.WHOLE
    assert read(forged).seal is Seal.ALTERED
    assert read(orjson.dumps(document)).seal is Seal.UNTAGGED


def test_a_tag_of_another_key_is_told() -> None:
    """Nothing is said of the mark but that it can't be proved."""
    assert read(text_of(OTHER)).seal is Seal.OTHER_KEY
    assert read(text_of(None)).seal is Seal.UNTAGGED
    assert read(text_of(OTHER), None).seal is Seal.WHOLE


def test_another_indent_or_order_is_no_alteration() -> None:
    """The digest is over the canonical form."""
    document = orjson.loads(text_of())
    turned = dict(reversed(document.items()))
    assert read(json.dumps(turned, indent=7).encode()).seal is Seal.WHOLE


@given(st.binary(max_size=200) | st.text(max_size=200).map(str.encode))
def test_what_is_no_mark_is_refused_in_words(text: bytes) -> None:
    """Any bytes at all: a fault with the file and what to do, no traceback."""
    with pytest.raises(RecordError) as caught:
        read(text)
    assert all(fault.file == "marks/north-ups-01.json" and fault.remedy for fault in caught.value.faults)


def test_a_number_beyond_canonical_json_is_refused() -> None:
    """RFC 8785 section 3.1: numbers are doubles; a larger whole number has no canonical form."""
    card = good_card()
    card["log"]["capacity_events"] = 2**60
    with pytest.raises(RecordError, match="canonical JSON can't hold"):
        text_of(card=card)
