"""What a map says, as frozen data: its source, its settings, its lists. Reads nothing."""

from collections.abc import Mapping
from enum import Enum

from auditor.dataclass import dataclass


class SourceKind(Enum):
    """The kinds of source that a map can describe."""

    XML = "xml"
    JSON = "json"
    TEXT = "text"
    CSV = "csv"


@dataclass(frozen=True, slots=True)
class Layout:
    """How a source is written.

    ``separator`` stands between label and value. ``sections`` and
    ``blocks`` are the forms of the lines that begin one, with one ``*`` where the title stands.
    ``asides`` are the two signs round remarks in labels, ``answers`` the two signs round a value
    that holds where a prompt is answered with nothing. Where ``last_counts``, a label that stands
    again replaces the earlier one. ``namespaces`` gives the prefixes of XML.
    """

    separator: str
    sections: tuple[str, ...]
    blocks: tuple[str, ...]
    asides: str
    answers: str
    last_counts: bool
    namespaces: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Conversion:
    """How the text of a source becomes the value of a setting.

    ``kind`` is a word of ``as``. ``unit`` is that of numbers without one, ``unit_wanted`` that of
    the setting, empty if it has none. ``words`` maps plain source words to values. ``none`` are
    texts that say that nothing is configured, ``unknown`` those that say nothing.
    """

    kind: str
    unit: str = ""
    unit_wanted: str = ""
    decimal: str = "."
    values: tuple[str, ...] = ()
    """Words that the schema allows."""
    words: Mapping[str, object] | None = None
    yes: tuple[str, ...] = ()
    no: tuple[str, ...] = ()
    any_source: tuple[str, ...] = ()
    none: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    form: str = ""
    offset: str = ""
    after: str = ""
    before: str = ""
    split: str = ""


@dataclass(frozen=True, slots=True)
class SettingMap:
    """One setting: where it goes, where it comes from, how it is converted.

    ``to`` is a pointer, within a list one into the member. ``fixed`` holds the one value of a
    setting that no source tells. ``takes_all`` is true of a list of single values and of sources:
    every place counts. ``join`` is not None where the texts of all places make one text.
    """

    to: str
    places: tuple[str, ...]
    fixed: tuple[object, ...]
    conversion: Conversion
    takes_all: bool
    join: str | None
    line: int


@dataclass(frozen=True, slots=True)
class ListMap:
    """One list of the record: each repeated block of the source becomes a member.

    Without ``each``, the settings make one member. ``needs`` are settings without which a
    member counts as an empty slot, and is left out.
    """

    to: str
    inside: str
    each: str
    needs: tuple[str, ...]
    settings: tuple[SettingMap, ...]
    lists: "tuple[ListMap, ...]"
    line: int


@dataclass(frozen=True, slots=True)
class Map:
    """One map. ``card_id`` are the places of the card's id, the first that is there counts."""

    name: str
    title: str
    source: SourceKind
    method: str
    card_id: tuple[str, ...]
    ignore: tuple[str, ...]
    layout: Layout
    settings: tuple[SettingMap, ...]
    lists: tuple[ListMap, ...]
    file: str
