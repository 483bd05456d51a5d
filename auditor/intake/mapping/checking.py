"""A map tried on a sample: setting by setting what it took, and what it did not. Words nothing."""

from auditor.dataclass import dataclass
from auditor.intake.imported import Lost, Origin
from auditor.intake.mapping.applying import Applied, Silent, apply_fully
from auditor.intake.mapping.language import Map
from auditor.record.pointer import split, value_at
from auditor.record.schema import place_at


@dataclass(frozen=True, slots=True)
class Taken:
    """A setting that was taken. ``value`` is None where the schema does not let it be shown."""

    pointer: str
    value: object
    origin: Origin


@dataclass(frozen=True, slots=True)
class CardCheck:
    """What a map made of one card of a sample.

    ``absent`` are settings of the map that the sample does not have, ``blank`` places that
    hold nothing or a word for unknown, ``unmapped`` names of the sample that the map leaves out.
    """

    card_id: str
    taken: tuple[Taken, ...]
    lost: tuple[Lost, ...]
    blank: tuple[Origin, ...]
    absent: tuple[Silent, ...]
    unmapped: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class CheckReport:
    """A map tried on a sample, card by card; ``map_file`` is where the lines of ``absent`` stand."""

    map_name: str
    map_file: str
    file: str
    cards: tuple[CardCheck, ...]


def check_map(chosen: Map, text: bytes, file: str) -> CheckReport:
    """Try a map on a sample.

    Raises:
        InputError: with every fault of the sample.
    """
    cards = tuple(_card(applied) for applied in apply_fully(chosen, text, file))
    return CheckReport(chosen.name, chosen.file, file, cards)


def _card(applied: Applied) -> CardCheck:
    imported = applied.imported
    settings, origins = imported.settings, imported.origins.items()
    taken = tuple(Taken(pointer, _shown(pointer, settings), origin) for pointer, origin in origins)
    return CardCheck(imported.card_id, taken, imported.lost, applied.blank, applied.absent, imported.unmapped)


def _shown(pointer: str, settings: object) -> object:
    """Return a value that may be shown, else None: a secret never, an address filter always."""
    tokens = split(pointer)
    place, value = place_at(tokens), value_at(settings, tokens)
    if value == []:
        return value
    if place is None or (place.kind != "sources" and not place.shown):
        return None
    return value
