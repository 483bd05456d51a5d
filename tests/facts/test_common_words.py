"""The frequency lists as digests: what stands in them, what does not, and where they come from."""

import random
from importlib.metadata import version

import pytest
from hypothesis import given
from hypothesis import strategies as st
from zxcvbn.frequency_lists import FREQUENCY_LISTS  # type: ignore[import-untyped]  # ships no types

from auditor.facts import common_words
from auditor.facts.common_words import LONGEST, digest_of, is_common_word
from auditor.facts.fact import Context
from auditor.facts.secret_class import Secret, is_common
from tests.rules.matrix import AS_OF, ROOT
from tests.tools.common_words import TARGET, content

WORDS = sorted({word.lower() for listed in FREQUENCY_LISTS.values() for word in listed})
CONTEXT = Context(AS_OF, frozenset({"password", "admin"}))
SITE = Context(
    AS_OF, frozenset({"password", "admin", "dragon"}), own_words=frozenset({"dragon"}), word_list="ab" * 8
)


def test_the_file_is_what_the_script_makes() -> None:
    """Whoever runs tests/tools/common_words.py with the package that the file names gets the same octets."""
    head = TARGET.read_bytes().partition(b"\n")[0].decode()
    assert "MIT licence" in head
    if f"zxcvbn {version('zxcvbn')}," in head:
        assert TARGET.read_bytes() == content()


def test_every_word_of_the_lists_is_found_whatever_its_case() -> None:
    """All words of zxcvbn's lists, first and last, as they stand and in capitals."""
    assert all(is_common_word(word) for word in WORDS)
    assert all(is_common_word(word.upper()) for word in WORDS[::97] if word.upper().lower() == word)
    assert max(map(len, WORDS)) == LONGEST


def test_random_secrets_are_not_common() -> None:
    """None of ten thousand random texts is taken for a word."""
    dice = random.Random(3)  # noqa: S311 - made-up data
    texts = ["".join(dice.choices("abcdefghkmnpqrstuvwxyz23456789", k=12)) for _ in range(10_000)]
    assert [text for text in texts if is_common_word(text)] == []


@given(st.text(max_size=30))
def test_no_text_is_found_but_those_of_the_lists(text: str) -> None:
    """Any text at all, at the ends of the file too, is answered by membership."""
    assert is_common_word(text) is (text.lower() in WORDS)


def test_a_long_secret_reads_no_file(monkeypatch: pytest.MonkeyPatch) -> None:
    """Good secrets cost no search, and a run of them alone does not open the lists."""
    monkeypatch.setattr(common_words, "_digests", lambda: pytest.fail("read"))
    assert not is_common_word("Kestrel-ladder-58-quartz")


def test_no_word_stands_in_the_package() -> None:
    """The file holds digests only: no password of the lists can be read from it."""
    octets = TARGET.read_bytes().partition(b"\n")[2]
    assert len(octets) == common_words.HEAD_OCTETS * len(WORDS)
    assert not any(word.encode() in octets for word in WORDS if len(word) > 8)
    assert digest_of("Dragon") == digest_of("dragon")


@pytest.mark.parametrize(
    ("secret", "plain", "site"),
    [
        (None, None, None),
        ({"empty": True}, False, False),
        ({"clear": "Dragon"}, True, False),
        ({"clear": "password"}, False, False),
        ({"clear": "password1"}, False, False),
        ({"clear": "Kestrel-ladder-58-quartz"}, False, False),
        ({"crypt": "$6$salt$hash"}, None, None),
        ({"localized": "66" * 20}, None, None),
        ({"sealed": {}}, None, None),
        ({"sealed": {"listed": "none"}}, False, False),
        ({"sealed": {"listed": "well_known"}}, False, False),
        ({"sealed": {"listed": "common"}}, None, None),
        ({"sealed": {"listed": "common", "flags": []}}, True, None),
        ({"sealed": {"listed": "common", "flags": ["well_known_variant"]}}, False, None),
        ({"sealed": {"listed": "common", "flags": ["site_word"], "word_list": "ab" * 8}}, True, False),
        ({"sealed": {"listed": "common", "flags": [], "word_list": "ab" * 8}}, True, True),
    ],
)
def test_a_secret_is_of_one_class(secret: Secret, plain: bool | None, site: bool | None) -> None:
    """Well known, a variant of that, or common: never two of them; with a site's list as without."""
    assert (is_common(secret, CONTEXT), is_common(secret, SITE)) == (plain, site)


def test_the_licence_of_the_lists_is_told_to_developers() -> None:
    """Where the lists come from, and under which licence, stands in DEVELOPERS.md."""
    assert "common-words.bin" in (ROOT / "DEVELOPERS.md").read_text("utf-8")
