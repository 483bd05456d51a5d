"""JSON Pointers (RFC 6901): text to tokens, tokens to text, and the value at a place."""

from collections.abc import Iterable
from typing import Any


def split(pointer: str) -> tuple[str, ...]:
    """Return the reference tokens of a pointer, unescaped.

    Raises:
        ValueError: if the pointer is neither empty nor begins with a slash, or has a tilde
            that is not part of ``~0`` or ``~1``.

    Source: RFC 6901 sections 3 and 4 (``~1`` is decoded before ``~0``).
    """
    if not pointer:
        return ()
    if pointer[0] != "/":
        raise ValueError(f"a JSON Pointer begins with a slash: {pointer!r}")
    if pointer.count("~") != pointer.count("~0") + pointer.count("~1"):
        raise ValueError(f"in a JSON Pointer, a tilde is written ~0: {pointer!r}")
    return tuple(t.replace("~1", "/").replace("~0", "~") for t in pointer[1:].split("/"))


def join(tokens: Iterable[str | int]) -> str:
    """Return the pointer made of these tokens; no token gives the empty pointer.

    Source: RFC 6901 section 3.
    """
    return "".join("/" + str(t).replace("~", "~0").replace("/", "~1") for t in tokens)


def pattern(pointer: str) -> str:
    """Return a pointer with ``*`` for the place in each list, as ``/accounts/*/password``."""
    return "/".join("*" if token.isdigit() else token for token in pointer.split("/"))


def value_at(document: Any, tokens: Iterable[str]) -> Any:  # noqa: ANN401 - any JSON value
    """Return the value at a place of a record, or None where nothing is captured.

    None stands for *unknown*: records never hold ``null``. Tokens that are whole numbers
    without leading zeros index lists.

    Source: RFC 6901 section 4.
    """
    for token in tokens:
        # Most steps lead to a member of an object: a record has many, and is asked often.
        document = document.get(token) if document.__class__ is dict else _step(document, token)
        if document is None:
            return None
    return document


def _step(value: Any, token: str) -> Any:  # noqa: ANN401 - any JSON value
    if isinstance(value, dict):
        return value.get(token)
    if isinstance(value, list) and _is_index(token) and int(token) < len(value):
        return value[int(token)]
    return None


def _is_index(token: str) -> bool:
    if token == "0":  # noqa: S105 - a reference token
        return True
    return token.isascii() and token.isdecimal() and token[0] != "0"
