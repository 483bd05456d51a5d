"""What an import gives: the settings of one card as one source tells them, with where each stands."""

from collections.abc import Mapping
from pathlib import PurePath

from auditor.dataclass import dataclass
from auditor.record.settings import Settings


@dataclass(frozen=True, slots=True)
class Origin:
    """Where a setting stands in a source.

    ``line`` starts at 1; 0 means that the source has no lines. ``at`` names the place in the
    source's own terms: an element path, a JSON Pointer, a label, a column.
    """

    file: str
    line: int
    at: str

    def __str__(self) -> str:
        """Word the place, such as ``export.xml:12 (system/hostname)``."""
        line = f":{self.line}" if self.line else ""
        return f"{self.file}{line} ({self.at})"


@dataclass(frozen=True, slots=True)
class Lost:
    """A source setting that could not be converted; ``why`` never holds its value."""

    origin: Origin
    why: str


@dataclass(frozen=True, slots=True)
class Imported:
    """What one source says of one card.

    ``settings`` is a record in the making: of the schema's names and shapes, but perhaps without
    ``schema`` and ``card.id``, and not validated yet. ``card_id`` is the id that the source
    states, or the start of its file's name. ``method`` is a word of ``/capture/method``.
    ``origins`` maps the pointer of each setting (a leaf, or a whole secret) to where it came
    from. ``lost`` could not be converted; ``unmapped`` names what has no place in a record.
    """

    card_id: str
    settings: Settings
    file: str
    method: str
    origins: Mapping[str, Origin]
    lost: tuple[Lost, ...] = ()
    unmapped: tuple[str, ...] = ()


def id_from_name(file: str) -> str:
    """Return the card id that a file's name gives: all before its first dot."""
    return PurePath(file).name.partition(".")[0]
