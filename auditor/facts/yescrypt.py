"""yescrypt hashes, tried by the system's own libcrypt where it knows them. Grades nothing.

No Python package at hand computes yescrypt; libxcrypt, which most Linux systems log in with,
does. It is loaded when the first such hash is tried; elsewhere the hash stays untried.
"""

import re
from collections.abc import Callable
from functools import cache
from typing import Final, TypeAlias

Crypt: TypeAlias = Callable[[bytes, bytes], bytes | None]

_HASH: Final = re.compile(r"\$y\$(j75|j85|j7T|j8T|j9T)\$[./0-9A-Za-z]{1,86}\$[./0-9A-Za-z]{43}", re.ASCII)
"""The costs that systems set, up to their usual one: 16 MiB and about 70 ms a word. Own measurement."""

_LIBRARY: Final = "libcrypt.so.1"


def is_known() -> bool:
    """Return whether a library of this machine knows yescrypt."""
    return _crypt() is not None


def can_be_tried(crypt: str) -> bool:
    """Return whether a hash is a whole yescrypt hash of a bounded cost, and a library knows them."""
    return _HASH.fullmatch(crypt) is not None and is_known()


def opens(crypt: str, word: str) -> bool:
    """Return whether a word is the password of a hash; false where no library can tell."""
    made = _crypt()
    octets = crypt.encode("ascii")
    return made is not None and made(word.encode(), octets) == octets


@cache
def _crypt() -> Crypt | None:
    """Return the system's ``crypt``, or None where there is none that knows yescrypt.

    The cheapest hash of a known word is computed first: an older libcrypt refuses it.
    """
    import ctypes  # slow import, needed for few records

    try:
        found = ctypes.CDLL(_LIBRARY).crypt
    except (OSError, AttributeError):
        return None
    found.argtypes, found.restype = [ctypes.c_char_p] * 2, ctypes.c_char_p
    made: Crypt = found
    return made if made(b"password", _KNOWN.encode()) == _KNOWN.encode() else None


_KNOWN: Final = "$y$j75$k2XAnEHBqQ1Ct2aMXFKNa/$m4lwJ4nFEuCl0FFCrU4dJtyuhT0Ai2jNWLnkYlySGEB"
"""Of the word password; made by libxcrypt 4.4."""
