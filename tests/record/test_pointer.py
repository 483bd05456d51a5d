"""JSON Pointers: text to tokens and back, and the value at a place."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.record.pointer import join, split, value_at

# The document and the pointers of RFC 6901 section 5, with the value each must find.
RFC_6901_DOCUMENT = {
    "foo": ["bar", "baz"],
    "": 0,
    "a/b": 1,
    "c%d": 2,
    "e^f": 3,
    "g|h": 4,
    "i\\j": 5,
    'k"l': 6,
    " ": 7,
    "m~n": 8,
}
RFC_6901_EXAMPLES = [
    ("", RFC_6901_DOCUMENT),
    ("/foo", ["bar", "baz"]),
    ("/foo/0", "bar"),
    ("/", 0),
    ("/a~1b", 1),
    ("/c%d", 2),
    ("/e^f", 3),
    ("/g|h", 4),
    ("/i\\j", 5),
    ('/k"l', 6),
    ("/ ", 7),
    ("/m~0n", 8),
]


@pytest.mark.parametrize(("pointer", "value"), RFC_6901_EXAMPLES)
def test_pointers_of_the_standard_find_their_values(pointer: str, value: object) -> None:
    """Each example of RFC 6901 section 5 finds the value that the standard names."""
    assert value_at(RFC_6901_DOCUMENT, split(pointer)) == value


@pytest.mark.parametrize("pointer", [pointer for pointer, _ in RFC_6901_EXAMPLES])
def test_tokens_of_the_standard_join_to_the_same_pointer(pointer: str) -> None:
    """Splitting and joining an example of RFC 6901 section 5 gives it back."""
    assert join(split(pointer)) == pointer


def test_tilde_one_is_decoded_before_tilde_zero() -> None:
    """The text ~01 means ~1, never a slash (RFC 6901 section 4)."""
    assert split("/~01") == ("~1",)


@given(st.lists(st.text()))
def test_any_tokens_survive_joining_and_splitting(tokens: list[str]) -> None:
    """Splitting undoes joining for any tokens, empty ones and slashes included."""
    assert split(join(tokens)) == tuple(tokens)


@pytest.mark.parametrize("pointer", ["foo", "foo/bar", "/a~", "/~2", "/~~0"])
def test_what_is_no_pointer_is_refused(pointer: str) -> None:
    """A pointer begins with a slash and escapes every tilde (RFC 6901 section 3)."""
    with pytest.raises(ValueError, match="JSON Pointer"):
        split(pointer)


@pytest.mark.parametrize(
    "pointer",
    ["/foo/2", "/foo/01", "/foo/-", "/foo/-1", "/foo/\N{ARABIC-INDIC DIGIT ZERO}", "/foo/0/x", "/none"],
)
def test_a_place_that_is_not_there_holds_nothing(pointer: str) -> None:
    """An index out of range or not in the form of RFC 6901 section 4 finds None."""
    assert value_at(RFC_6901_DOCUMENT, split(pointer)) is None
