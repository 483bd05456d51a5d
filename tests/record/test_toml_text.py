"""TOML texts are read, or refused with one fault at its line."""

import pytest

from auditor.errors import InputError
from auditor.record.toml_text import parse_toml


def test_a_document_is_returned() -> None:
    """Tables, lists and values of TOML v1.0.0."""
    assert parse_toml(b'[a]\nb = [1, "two"]\n', "f.toml") == {"a": {"b": [1, "two"]}}


@pytest.mark.parametrize(
    ("text", "line", "problem"),
    [
        (b"a = 1\nb =\n", 2, "not TOML"),
        (b"a = 1\n[x", 2, "not TOML"),
        (b"a = 1\nb = '\xff'", 2, "the text is not UTF-8"),
        (b"a = " + b"[" * 100_000, 1, "too deep"),
        (b"a = " + b"9" * 10_000, 1, "too deep or too long"),
    ],
)
def test_what_is_no_toml_has_one_fault_at_its_line(text: bytes, line: int, problem: str) -> None:
    """Broken syntax, another encoding, brackets or digits without end."""
    with pytest.raises(InputError) as caught:
        parse_toml(text, "f.toml")
    [fault] = caught.value.faults
    assert (fault.file, fault.line, problem in fault.problem) == ("f.toml", line, True), str(fault)
