"""A procedure as JSON, ``witnessmark/procedure-1``, by ``procedure-1.schema.json``."""

from dataclasses import asdict
from typing import Any, BinaryIO, Final

import orjson

from auditor.report.result_card import json_text
from auditor.report.visit_sheet import Sheet
from auditor.report.writer import TOOL
from auditor.version import VERSION

SCHEMA: Final = "witnessmark/procedure-1"


def write_json(sheet: Sheet, stream: BinaryIO) -> None:
    """Write the document, indented by two."""
    text = json_text(document_of(sheet))
    stream.write(orjson.dumps(orjson.loads(text), option=orjson.OPT_INDENT_2) if text.isascii() else text)
    stream.write(b"\n")


def document_of(sheet: Sheet) -> dict[str, Any]:
    """Return the document."""
    told = asdict(sheet)
    timing = sheet.timing
    return {
        "schema": SCHEMA,
        "tool": TOOL,
        "version": VERSION,
        **told,
        "as_of": sheet.as_of.isoformat(),
        "timing": {"restart_min": timing.restart, "before_min": timing.before, "after_min": timing.after},
    }
