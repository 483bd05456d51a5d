"""Bytes → the blocks of a source, one a card, by the kind that a map names."""

from collections.abc import Sequence

from auditor.intake.mapping.language import Layout, SourceKind
from auditor.intake.mapping.place import Block


def open_source(text: bytes, file: str, source: SourceKind, layout: Layout) -> Sequence[Block]:
    """Return the source as blocks, one a card.

    Raises:
        InputError: with every fault of the source.
    """
    if source is SourceKind.XML:
        from auditor.intake.mapping.reading_xml import read_xml

        return (read_xml(text, file, layout.namespaces),)
    if source is SourceKind.JSON:
        from auditor.intake.mapping.reading_json import read_json

        return (read_json(text, file),)
    if source is SourceKind.CSV:
        from auditor.intake.mapping.reading_csv import read_csv

        return read_csv(text, file)
    from auditor.intake.mapping.reading_text import read_text

    return (read_text(text, file, layout),)
