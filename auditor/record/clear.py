"""The one type in which a clear secret, or a text that holds some, exists once it was read.

Its text form is redacted, so that no message, report, log or traceback repeats a secret by
accident; whoever needs the secret says so by ``reveal``. Judges no secret.
"""

from typing import Any, Final, Generic, NoReturn, SupportsIndex, TypeVar

REDACTED: Final = "(secret)"

Content = TypeVar("Content", str, bytes)


class Clear(Generic[Content]):
    """A clear secret (text), or the bytes of a record that may hold secrets.

    Equal to another of equal content, and to nothing else. It has no order and no length, can't
    be pickled, and no JSON writer takes it. A copy is the same object: the content never changes.
    """

    __slots__ = ("_content",)

    def __init__(self, content: Content) -> None:
        """Take the content in."""
        self._content: Content = content

    def reveal(self) -> Content:
        """Return the content. What is made of it must not reach any output."""
        return self._content

    def __repr__(self) -> str:
        """Return the redacted form, whatever the content."""
        return REDACTED

    __str__ = __repr__

    def __format__(self, spec: str) -> str:
        """Return the redacted form, in the width that is asked for."""
        return format(REDACTED, spec)

    def __eq__(self, other: object) -> bool:
        """Compare contents; equal only to another of this type."""
        return isinstance(other, Clear) and self._content == other._content

    def __hash__(self) -> int:
        """Return a hash by content."""
        return hash((Clear, self._content))

    def __copy__(self) -> "Clear[Content]":
        """Return itself."""
        return self

    def __deepcopy__(self, _: dict[int, Any]) -> "Clear[Content]":
        """Return itself."""
        return self

    def __reduce_ex__(self, _: SupportsIndex) -> NoReturn:
        """Refuse to be pickled.

        Raises:
            TypeError: always.
        """
        raise TypeError("a clear secret is not pickled")


def revealed(clear: Clear[str] | str) -> str:
    """Return the text of a clear secret of a record, or of settings that are still being made."""
    return clear if isinstance(clear, str) else clear.reveal()
