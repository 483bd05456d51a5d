"""Lines of paths in TOML texts."""

import tomllib
from collections.abc import Iterator, Sequence
from typing import Any, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.record.toml_place import Path, line_of, lines_of

TEXT: Final = '''\
# a comment with [brackets] and = signs
[ruleset]
name = "demo"
"quoted name" = 'literal # no comment'
dotted.key.inside = 1

[parameters.session_maximum_s]
value = 900          # [[rule]]
meaning = """
[[rule]]
id = "not a table" """

[[rule]]
id = "one"
sources = [
    "first",         # a comment, with a comma
    "second",

    "third",
]
require = { all_of = [
    { at = "/a", equals = true },
    { any_of = [ { at = "/b", equals = "]" }, { at = "/c", equals = 1.5 } ] },
] }

[rule.mend]
text = "mend one"

[[rule.mend.set]]
at = "/a"
[[rule.mend.set]]
at = "/b"

[[rule]]
id = "two"
when = 1979-05-27 07:32:00
[rule.mend]
text = \'\'\'
{ at = "x" }
\'\'\'
[[rule.mend.set]]
to = 2
[ "spaced" . 'out' ]
key = 1
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        ((), 1),
        (("ruleset",), 2),
        (("ruleset", "name"), 3),
        (("ruleset", "quoted name"), 4),
        (("ruleset", "dotted", "key", "inside"), 5),
        (("parameters", "session_maximum_s"), 7),
        (("parameters", "session_maximum_s", "value"), 8),
        (("parameters", "session_maximum_s", "meaning"), 9),
        (("rule", 0), 13),
        (("rule", 0, "id"), 14),
        (("rule", 0, "sources", 0), 16),
        (("rule", 0, "sources", 2), 19),
        (("rule", 0, "require", "all_of", 0, "equals"), 22),
        (("rule", 0, "require", "all_of", 1, "any_of", 1, "at"), 23),
        (("rule", 0, "mend", "text"), 27),
        (("rule", 0, "mend", "set", 0, "at"), 30),
        (("rule", 0, "mend", "set", 1, "at"), 32),
        (("rule", 1), 34),
        (("rule", 1, "id"), 35),
        (("rule", 1, "when"), 36),
        (("rule", 1, "mend", "text"), 38),
        (("rule", 1, "mend", "set", 0, "to"), 42),
        (("spaced", "out", "key"), 44),
    ],
)
def test_every_kind_of_place_has_its_line(path: Path, line: int) -> None:
    """Tables, arrays of tables, inline tables and lists each lead to the line a reader would point at."""
    assert line_of(TEXT, path) == line


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("rule", 0, "require", "all_of", 1, "meets"), 23),
        (("rule", 0, "severity", "vector"), 13),
        (("rule", 7, "id"), 13),
        (("nowhere", "at", "all"), 1),
    ],
)
def test_a_missing_key_leads_to_what_would_enclose_it(path: Path, line: int) -> None:
    """A fault about something that is not there points at the nearest table that is."""
    assert line_of(TEXT, path) == line


def test_the_example_is_toml_and_every_place_of_it_is_known() -> None:
    """The walk finds the same tables, keys and items as the parser of the standard library."""
    assert set(lines_of(TEXT)) == set(_paths(tomllib.loads(TEXT)))


def test_line_ends_of_another_system_count_once() -> None:
    """A file saved with carriage returns has the same lines."""
    assert lines_of(TEXT.replace("\n", "\r\n")) == lines_of(TEXT)


keys = st.sampled_from(["a", "b-c", "d_1", "with space", "dot.ted", "ünï", ""])
scalars = st.one_of(
    st.booleans(), st.integers(-9, 9), st.sampled_from([1.5, -2e9]), st.text("ab[]{}#=,.'\"\\\n ", max_size=9)
)
values: st.SearchStrategy[Any] = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(keys, inner, max_size=3),
    max_leaves=8,
)
documents = st.dictionaries(keys, st.one_of(values, st.dictionaries(keys, values, max_size=3)), max_size=4)


@given(documents)
def test_places_are_those_that_the_parser_finds(document: dict[str, Any]) -> None:
    """For random documents, every path that tomllib finds has a line, and no other has."""
    text = "\n".join(_written(document))
    assert tomllib.loads(text) == document
    assert set(lines_of(text)) == set(_paths(document))


@given(
    st.lists(st.tuples(keys, values), min_size=1, max_size=4, unique_by=lambda pair: pair[0]),
    st.integers(0, 3),
)
def test_lines_are_those_that_the_text_was_written_on(pairs: list[tuple[str, Any]], blank: int) -> None:
    """A key written on a known line, after blank lines and multi-line text, is found there."""
    lines, expected = [], {}
    for key, value in pairs:
        lines += [""] * blank + ["# [not] = a table"]
        expected[key] = len(lines) + 1
        lines += f"{_quoted(key)} = {_literal(value)}".split("\n")
    found = lines_of("\n".join(lines))
    assert {key: found[(key,)] for key in expected} == expected


@given(st.text("ab=.,[]{}\"'#\n\\ ", max_size=40), st.lists(st.sampled_from(["a", "b", 0, 1]), max_size=3))
def test_no_text_breaks_the_walk(text: str, path: Sequence[str | int]) -> None:
    """Text that is no TOML still gives a line inside it."""
    assert 1 <= line_of(text, path) <= text.count("\n") + 1


def test_a_very_deep_text_does_not_break_the_walk() -> None:
    """What stands before too many brackets keeps its line."""
    assert line_of("a = 1\nb = " + "[" * 100_000, ("a",)) == 1
    assert line_of("\na = 1\nb = " + "[" * 100_000, ("a",)) == 2


def _paths(value: object, path: Path = ()) -> Iterator[Path]:
    inside: Sequence[tuple[str | int, object]] = ()
    if isinstance(value, dict):
        inside = list(value.items())
    if isinstance(value, list):
        inside = list(enumerate(value))
    for key, item in inside:
        yield (*path, key)
        yield from _paths(item, (*path, key))


def _written(document: dict[str, Any]) -> Iterator[str]:
    tables = {key: value for key, value in document.items() if isinstance(value, dict)}
    for key, value in document.items():
        if key not in tables:
            yield f"{_quoted(key)} = {_literal(value)} # =["
    for key, table in tables.items():
        yield f" [ {_quoted(key)} ] # comment"
        for inner, value in table.items():
            yield f"{_quoted(inner)} = {_literal(value)}"


def _literal(value: object) -> str:
    if isinstance(value, bool):
        return str(value).lower()
    if isinstance(value, str):
        return _triple(value) if "\n" in value else _quoted(value)
    if isinstance(value, list):
        return "[" + ",\n # ]\n".join(map(_literal, value)) + "]"
    if isinstance(value, dict):
        return "{ " + ", ".join(f"{_quoted(key)} = {_literal(item)}" for key, item in value.items()) + " }"
    return repr(value)


def _quoted(text: str) -> str:
    return '"' + text.replace("\\", "\\\\").replace('"', '\\"') + '"'


def _triple(text: str) -> str:
    # A line end straight after the opening quotes is dropped (TOML v1.0.0, String), hence two.
    return '"""\n' + text.replace("\\", "\\\\").replace('"', '\\"') + '"""'
