"""Text is made inert: what acts or hides is made visible, the rest is left alone."""

import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from auditor.report.plain import plain

# Unicode Bidirectional Algorithm (UAX 9), section 2: embeddings, overrides, isolates, marks.
BIDI = "\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069"


def test_ordinary_text_is_left_alone() -> None:
    """Letters of any script, signs and markup stay; escaping markup is a writer's business."""
    text = "UPS «A» <b>=1+1 Größe 電源 ملف 🔋\u00a0x"
    assert plain(text) == text


@pytest.mark.parametrize(
    ("acting", "visible"),
    [("\x00", "␀"), ("\n", "␊"), ("\r", "␍"), ("\t", "␉"), ("\x1b[31m", "␛[31m"), ("\x7f", "␡")],
)
def test_a_control_becomes_its_picture(acting: str, visible: str) -> None:
    """A control character is shown as the sign that Unicode has for it."""
    assert plain(acting) == visible


@pytest.mark.parametrize("mark", BIDI)
def test_a_mark_of_direction_becomes_its_code(mark: str) -> None:
    """No mark can turn the direction of the text around it."""
    assert plain(f"a{mark}b") == f"a[U+{ord(mark):04X}]b"


@pytest.mark.parametrize(
    "hidden", ["\x85", "\u2028", "\u2029", "\u200b", "\ufeff", "\u00ad", "\ufffe", "\ud800", "\U000e0041"]
)
def test_what_is_not_seen_becomes_its_code(hidden: str) -> None:
    """Separators of lines, zero-width characters, tags, lone surrogates: all are shown as codes."""
    assert plain(hidden) == f"[U+{ord(hidden):04X}]"


def test_joiners_of_scripts_and_pictures_stay() -> None:
    """Persian words and joined pictures need their joiners."""
    text = "\u0645\u06cc\u200c\u062e\u0648\u0627\u0647\u0645 👩\u200d🔧"
    assert plain(text) == text


@given(st.text(st.characters()))
def test_any_text_ends_as_one_encodable_line(text: str) -> None:
    """Whatever a record holds, the result is one line of UTF-8 without controls, and stays so."""
    result = plain(text)
    assert len(result.encode("utf-8").decode("utf-8").splitlines()) <= 1
    assert not any(unicodedata.category(letter) in {"Cc", "Cs"} for letter in result)
    assert plain(result) == result
