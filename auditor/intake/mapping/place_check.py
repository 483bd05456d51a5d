"""Whether the places of a map are written as its kind of source asks. Reads no source."""

from collections.abc import Mapping, Sequence

from auditor.intake.mapping.language import SourceKind
from auditor.intake.mapping.place import OWN_NAME, PlaceError
from auditor.intake.mapping.reading_csv import check_columns
from auditor.intake.mapping.reading_json import check_pointer
from auditor.intake.mapping.reading_text import check_label
from auditor.intake.mapping.xml_path import parse_path, prefixes_of


def check_place(source: SourceKind, place: str) -> None:
    """Check one place.

    Raises:
        PlaceError: if it is not written as the source asks.
    """
    if source is SourceKind.XML:
        parse_path(place)
    elif place == OWN_NAME or source is SourceKind.CSV:
        return
    elif source is SourceKind.JSON:
        check_pointer(place)
    else:
        check_label(place)


def check_list(source: SourceKind, inside: str, each: str) -> None:
    """Check the places of a list.

    Raises:
        PlaceError: if one of them is not written as the source asks.
    """
    if source is SourceKind.CSV:
        check_columns(inside, each)
        return
    for place in (inside, each):
        if place:
            check_place(source, place)
            if source is SourceKind.XML and parse_path(place).steps[-1].axis == "attribute":
                raise PlaceError("an attribute is no block", "Write the element that holds it.")


def unknown_prefixes(source: SourceKind, places: Sequence[str], known: Mapping[str, str]) -> list[str]:
    """Return the namespace prefixes that places use and that are not known, sorted."""
    if source is not SourceKind.XML:
        return []
    used: set[str] = set()
    for place in places:
        if place:
            try:
                used |= prefixes_of(parse_path(place))
            except PlaceError:
                continue  # told where the place is checked
    return sorted(used - set(known))
