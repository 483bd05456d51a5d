"""yescrypt hashes: tried where the system's libcrypt knows them, and only at a bounded cost."""

import ctypes
from collections.abc import Iterator

import pytest

from auditor.facts import yescrypt
from auditor.facts.crypt_hash import opens_with, scheme_of

# Each of the word password; made by crypt_gensalt and crypt of libxcrypt 4.4 with the bytes
# 0123456789abcdef for a salt.
MADE = {
    "j75": "$y$j75$k2XAnEHBqQ1Ct2aMXFKNa/$m4lwJ4nFEuCl0FFCrU4dJtyuhT0Ai2jNWLnkYlySGEB",
    "j9T": "$y$j9T$k2XAnEHBqQ1Ct2aMXFKNa/$OVYXzjlkiQpWT/F1CUE0JrvV4phLY8FB.ofDttnrSQ7",
}
# A vector of yescrypt's own tests, of the word pleaseletmein (from memory; computed here).
VECTOR = "$y$jD5.7$LdJMENpBABJJ3hIHjB1Bi.$HboGM6qPrsK.StKYGt6KErmUYtioHreJd98oIugoNB6"
DEAR = "$y$jAT$k2XAnEHBqQ1Ct2aMXFKNa/$OGUzBDsVt1P4YPjPlwnoLjY9mliSBsWeeWdSAI25BP7"

needs_library = pytest.mark.skipif(
    not yescrypt.can_be_tried(MADE["j75"]), reason="the libcrypt of this system knows no yescrypt"
)


@pytest.fixture
def _no_library(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """Let the system have no libcrypt."""

    def missing(_name: str) -> None:
        raise OSError("no such library")

    yescrypt._crypt.cache_clear()  # noqa: SLF001 - as a system without it starts
    monkeypatch.setattr(ctypes, "CDLL", missing)
    yield
    yescrypt._crypt.cache_clear()  # noqa: SLF001


@needs_library
@pytest.mark.parametrize("crypt", MADE.values(), ids=MADE)
def test_the_right_word_opens_a_hash_and_no_other_does(crypt: str) -> None:
    """Up to the cost that systems usually set, words are tried."""
    assert opens_with(crypt, ["root", "password"]) is True
    assert opens_with(crypt, ["root", "Password", ""]) is False


@needs_library
def test_the_library_agrees_with_a_published_vector() -> None:
    """The vector's own cost is none of those that are tried; the library is asked past the bound."""
    assert yescrypt.opens(VECTOR, "pleaseletmein")
    assert not yescrypt.opens(VECTOR, "pleaseletmeout")


@pytest.mark.parametrize(
    "crypt", [DEAR, VECTOR, MADE["j75"][:-1], MADE["j75"] + "a", "$y$j9T$salt$hash", "$y$"]
)
def test_a_dear_hash_or_one_that_is_not_whole_is_not_tried(crypt: str) -> None:
    """Work is bounded before anything is computed; the scheme is known all the same."""
    scheme = scheme_of(crypt)
    assert scheme is not None
    assert (scheme.name, scheme.can_be_tried) == ("yescrypt", False)
    assert opens_with(crypt, ["password"]) is None


@pytest.mark.usefixtures("_no_library")
def test_where_no_library_knows_it_nothing_is_said() -> None:
    """On a system without libxcrypt the hash stays unknown, without a fault."""
    assert opens_with(MADE["j75"], ["password"]) is None
    assert not yescrypt.opens(MADE["j75"], "password")
