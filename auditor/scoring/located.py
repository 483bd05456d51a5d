"""Where the findings of a card stand in its file, and by what they are known again. Finds nothing itself."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from auditor.dataclass import dataclass
from auditor.record.pointer import join, split
from auditor.record.position import Place, Span


class Region(NamedTuple):
    """Where a setting stands; where it is absent, the bracket of the nearest setting around it."""

    span: Span
    is_there: bool


@dataclass(frozen=True, slots=True)
class Located:
    """Fingerprints of the findings in their order, and the places of the settings that they name.

    ``spans`` maps pointers to places in the file, lines counted from its beginning. It is empty
    for a record that was made from another file: places in the record are none in that file.
    """

    fingerprints: tuple[str, ...]
    spans: Mapping[str, Span]

    def region(self, pointer: str) -> Region | None:
        """Return where a setting stands, or what is nearest around it; None without any place."""
        for around in upwards(pointer):
            if span := self.spans.get(around):
                return Region(span if around == pointer else _first_sign(span), around == pointer)
        return None


def upwards(pointer: str) -> Iterator[str]:
    """Yield a pointer, then those of what is around it, the whole record last."""
    tokens = split(pointer)
    for length in range(len(tokens), -1, -1):
        yield join(tokens[:length])


def _first_sign(span: Span) -> Span:
    line, column = span.start
    return Span(span.start, Place(line, column + 1))
