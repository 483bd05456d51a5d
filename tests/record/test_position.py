"""Lines and columns of values, doubled names, depth, and where a text stops being JSON."""

import json
import pickle
from collections.abc import Iterator
from math import isfinite
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from auditor.record.pointer import join, split, value_at
from auditor.record.position import (
    MOST_DOUBLED,
    JsonFaultError,
    Place,
    is_cut_off,
    place_of,
    positions,
    spans,
    survey,
)

TEXTS = st.text(st.characters(codec="utf-8"), max_size=6)
SCALARS = st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | TEXTS | st.none()
DOCUMENTS = st.recursive(
    SCALARS, lambda inner: st.lists(inner, max_size=4) | st.dictionaries(TEXTS, inner, max_size=4)
)


def places_of(document: Any, path: tuple[str | int, ...] = ()) -> Iterator[tuple[str, Any]]:
    """Yield the pointer and value of every place in a document."""
    yield join(path), document
    if isinstance(document, dict):
        for name, value in document.items():
            yield from places_of(value, (*path, name))
    elif isinstance(document, list):
        for index, value in enumerate(document):
            yield from places_of(value, (*path, index))


def offset_of(text: str, place: Place) -> int:
    """Return the offset of a place, counted in the plainest way there is."""
    return sum(len(line) + 1 for line in text.split("\n")[: place.line - 1]) + place.column - 1


@settings(deadline=None)
@given(DOCUMENTS, st.sampled_from([None, 0, 2, "\t"]), st.booleans())
def test_the_parser_finds_each_value_at_its_position(
    document: object,
    indent: int | str | None,
    ascii_only: bool,
) -> None:
    """Parsing from the position of a pointer gives exactly the value at that pointer."""
    text = json.dumps(document, indent=indent, ensure_ascii=ascii_only)
    wanted = dict(places_of(document))
    found = positions(text.encode(), wanted)
    values = {
        at: json.JSONDecoder().raw_decode(text, offset_of(text, place))[0] for at, place in found.items()
    }
    assert values == wanted


@settings(deadline=None)
@given(DOCUMENTS)
def test_what_the_parser_reads_the_scanner_reads(document: object) -> None:
    """A text written by a JSON writer has no fault, no doubled name, and no bracket too deep."""
    seen = survey(json.dumps(document), depth=100)
    assert (seen.doubled, seen.deep) == ((), None)


@settings(deadline=None)
@given(st.text(st.sampled_from('{}[]:,"\\ntrue0123.eE+-ud8f \n'), max_size=30))
def test_the_scanner_refuses_what_the_parser_refuses(text: str) -> None:
    """The scanner and the parser of the standard library agree on what JSON is."""
    try:
        value = json.loads(text, parse_constant=_refuse, parse_float=_finite)
        json.dumps(value, ensure_ascii=False).encode()  # half a surrogate pair is refused as well
        parsed = True
    except ValueError:
        parsed = False
    try:
        survey(text, depth=100)
        scanned = True
    except JsonFaultError:
        scanned = False
    assert scanned == parsed


def _refuse(name: str) -> None:
    raise ValueError(name)


def _finite(number: str) -> float:
    return float(number) if isfinite(float(number)) else float("beyond all limits")


def test_columns_count_code_points() -> None:
    """A character outside the basic plane is one column, and so is one with an accent."""
    text = '{"é": "😀", "x": 1}'
    assert positions(text.encode(), ["/x"]) == {"/x": Place(1, 17)}


def test_a_byte_order_mark_is_not_counted() -> None:
    """The first bracket after a byte order mark stands in column 1."""
    assert positions(b"\xef\xbb\xbf{}", [""]) == {"": Place(1, 1)}


def test_a_pointer_to_nothing_is_left_out() -> None:
    """A place that the text does not have gets no position."""
    assert positions(b'{"a": [1]}', ["/b", "/a/1", "/a/0"]) == {"/a/0": Place(1, 8)}


def test_of_a_doubled_member_the_last_has_the_position() -> None:
    """The position is that of the value which the parser keeps."""
    assert positions(b'{"a": 1,\n "a": 2}', ["/a"]) == {"/a": Place(2, 7)}


def test_every_doubled_name_is_found_with_both_places() -> None:
    """A name doubled by an escape, in an inner object, or a third time is found like any other."""
    text = '{"a": 1, "b": [{"x": 1,\n"\\u0078": 2, "x": 3}],\n"a": 4}'
    found = [(one.path, one.first, one.again) for one in survey(text, depth=9).doubled]
    assert found == [
        (("b", 0, "x"), Place(1, 17), Place(2, 1)),
        (("b", 0, "x"), Place(1, 17), Place(2, 14)),
        (("a",), Place(1, 2), Place(3, 1)),
    ]


def test_the_same_name_in_two_objects_is_not_doubled() -> None:
    """Names are compared within one object only."""
    assert survey('{"a": {"a": 1}, "b": [{"a": 1}, {"a": 1}]}', depth=9).doubled == ()


def test_doubled_names_are_counted_up_to_a_bound() -> None:
    """A text of nothing but doubled names gives a bounded list."""
    text = "{" + ",".join(['"a":1'] * (2 * MOST_DOUBLED)) + "}"
    assert len(survey(text, depth=9).doubled) == MOST_DOUBLED


def test_the_first_bracket_too_deep_is_named() -> None:
    """Depth counts open brackets; after the first one beyond the limit nothing is looked at."""
    seen = survey('{"a": [1,\n [2, broken', depth=2)
    assert (seen.deep, seen.deep_place) == (("a", 1), Place(2, 2))


@pytest.mark.parametrize(("opening", "closing"), [("[", "]"), ('{"a":', "}")])
def test_a_hundred_thousand_brackets_are_survived(opening: str, closing: str) -> None:
    """Nesting costs no recursion, whether the text is whole or cut off."""
    many = 100_000
    text = opening * many + "1" + closing * many
    assert survey(text, depth=64).deep_place == Place(1, 64 * len(opening) + 1)
    assert survey(text, depth=many).deep is None
    assert positions(text.encode(), ["/0", "/a"]).popitem()[1] == Place(1, len(opening) + 1)
    assert is_cut_off((opening * many).encode())


FAULTS = [
    ("", (1, 1), "the text ends"),
    ('{"a": 1', (1, 8), "the text ends inside the object that begins on line 1"),
    ('{\n"a": [1,\n', (3, 1), "the text ends inside the list that begins on line 2"),
    ('{"a": "secr', (1, 12), "the text ends inside a text that is not closed"),
    ('{"a": "secr\n', (1, 12), "the text ends inside a text that is not closed"),
    ('{"a": 1,}', (1, 9), "a comma stands before a closing bracket"),
    ("[1, ]", (1, 5), "a comma stands before a closing bracket"),
    ('{"a": }', (1, 7), "expected a value"),
    ('{"a": 1\n "b": 2}', (2, 2), "a comma is missing between two members"),
    ("[1 2]", (1, 4), "a comma is missing between two items"),
    ('{"a" 1}', (1, 6), "a colon is missing after the name"),
    ("{'a': 1}", (1, 2), "single quotes are no JSON"),
    ("{a: 1}", (1, 2), "expected the name of a member, in double quotes"),
    ('{"a": NaN}', (1, 7), "NaN and Infinity are no JSON numbers"),
    ('{"a": -Infinity}', (1, 7), "NaN and Infinity are no JSON numbers"),
    ('{"a": True}', (1, 7), "true and false are written in small letters"),
    ('{"a": 01}', (1, 8), "no JSON number"),
    ('{"a": .5}', (1, 7), "no JSON number"),
    ('{"a": 1e999}', (1, 7), "a number beyond all limits"),
    ("// note\n{}", (1, 1), "JSON has no comments"),
    ("{} {}", (1, 4), "more text stands after the end of the record"),
    ('{"a": [1}', (1, 9), "the closing bracket does not match the open one"),
    ('{"a": "x\ny"}', (1, 7), "a text is not closed on its line"),
    ('{"a": "x\ty"}', (1, 9), "a control character (U+0009) in a text"),
    ('{"a": "\\q"}', (1, 8), "no JSON escape"),
    ('{"a": "\\ud800"}', (1, 8), "half of a surrogate pair is no character"),
    ('{"a": "\\udc00\\ud800"}', (1, 8), "half of a surrogate pair is no character"),
    ("{,}", (1, 2), "a comma or colon too many"),
    ('{"a": "pa"ss"}', (1, 11), "expected a comma or a closing bracket"),
]


@pytest.mark.parametrize(("text", "place", "problem"), FAULTS)
def test_broken_text_is_named_where_it_breaks(text: str, place: tuple[int, int], problem: str) -> None:
    """Each kind of broken text is told apart, at the character where it breaks."""
    with pytest.raises(JsonFaultError) as caught:
        survey(text, depth=9)
    assert (caught.value.place, caught.value.problem) == (place, problem)


@pytest.mark.parametrize("text", [text for text, _, _ in FAULTS])
def test_cut_off_is_told_from_broken(text: str) -> None:
    """Only a text that could go on is cut off."""
    problem = next(problem for one, _, problem in FAULTS if one == text)
    assert is_cut_off(text.encode()) == problem.startswith("the text ends")


@pytest.mark.parametrize(
    ("text", "place", "problem"),
    [
        (b'{"a": 1,\n"\xc3\xa9": "\xff"}', (2, 7), "the text is not UTF-8"),
        ('{"a": 1}'.encode("utf-16"), (1, 1), "the text is UTF-16"),
        (b"\x1f\x8b\x08\x00", (1, 2), "the text is compressed with gzip"),
    ],
)
def test_text_in_another_coding_is_named(text: bytes, place: tuple[int, int], problem: str) -> None:
    """Bytes that are no UTF-8 are named with their place, and as what they are."""
    with pytest.raises(JsonFaultError) as caught:
        positions(text, [""])
    assert (caught.value.place, caught.value.problem) == (place, problem)


def test_a_fault_survives_pickling() -> None:
    """A worker can hand a fault to its parent."""
    fault = JsonFaultError(Place(3, 4), "problem", "remedy", cut_off=True)
    copy = pickle.loads(pickle.dumps(fault))  # noqa: S301 - our own bytes
    assert (copy.args, copy.cut_off) == (fault.args, True)


@given(st.text("ab\n"), st.data())
def test_place_of_undoes_offset(text: str, data: st.DataObject) -> None:
    """The place of an offset leads back to that offset."""
    at = data.draw(st.integers(0, len(text)))
    assert offset_of(text, place_of(text, at)) == at


def test_a_span_ends_after_the_last_character_of_the_value() -> None:
    """Texts with escapes, brackets over lines, values at the end: cut out, each gives its value again."""
    text = '{"a": [1, {"b": "x\\"y"}],\n "c": {"\\u0061": null, "e":[\n ]}, "ä": "𝄞"}'
    wanted = ["", "/a", "/a/0", "/a/1", "/a/1/b", "/c/a", "/c/e", "/ä", "/none"]
    found = spans(text.encode(), wanted)
    assert set(found) == set(wanted[:-1])
    lines = text.split("\n")
    starts = [sum(len(line) + 1 for line in lines[:number]) for number in range(len(lines))]
    document = json.loads(text)
    for pointer, (start, end) in found.items():
        cut = text[starts[start.line - 1] + start.column - 1 : starts[end.line - 1] + end.column - 1]
        assert json.loads(cut) == value_at(document, split(pointer))


@given(st.recursive(st.none() | st.integers() | st.text(), lambda inner: st.lists(inner, max_size=3)))
def test_a_span_begins_where_the_position_is(value: object) -> None:
    """Both ways to look up a place agree, however the text is indented."""
    text = json.dumps({"a": value}, indent=1).encode()
    assert spans(text, ["/a"])["/a"].start == positions(text, ["/a"])["/a"]
