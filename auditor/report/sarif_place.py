"""Places as SARIF writes them: addresses of files, regions, settings by name. Knows no finding.

Source: SARIF 2.1.0 (OASIS), sections 3.4 (artifactLocation), 3.28 to 3.33 (locations, regions);
RFC 3986 sections 2.3 and 4.2 (which characters stand as they are, and how a path begins).
"""

import os
from collections.abc import Mapping
from typing import Any

from auditor.errors import Fault
from auditor.record.position import Span
from auditor.report.plain import plain

_UNRESERVED = frozenset(b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789-._~/")


def file_uri(file: str) -> str:
    """Return the address of a file: relative as it was given, percent-encoded, absolute as ``file:``."""
    written = "".join(chr(byte) if byte in _UNRESERVED else f"%{byte:02X}" for byte in os.fsencode(file))
    if written.startswith("/"):
        return f"file://{written}"
    return written.removeprefix("./") or "."


def region(span: Span) -> Mapping[str, int]:
    """Return a region; its end is the place after its last character."""
    (line, column), (last_line, last_column) = span
    return {"startLine": line, "startColumn": column, "endLine": last_line, "endColumn": last_column}


def physical(file: str, where: Mapping[str, int] | None) -> dict[str, Any]:
    """Return a place in a file, the whole file without a region."""
    place: dict[str, Any] = {"artifactLocation": {"uri": file_uri(file)}}
    return {**place, "region": dict(where)} if where else place


def fault_place(fault: Fault) -> dict[str, Any]:
    """Return where a fault was found: its line and column, as far as they are known."""
    column = {"startColumn": fault.column} if fault.column else {}
    return physical(fault.file, {"startLine": fault.line, **column} if fault.line else None)


def logical(card_id: str, pointer: str, label: str = "") -> dict[str, Any]:
    """Return a setting of a card by its name: the id of the card, then the pointer."""
    name = plain(label or pointer.rpartition("/")[2] or card_id)
    kind = "property" if pointer else "object"
    return {"name": name, "fullyQualifiedName": plain(f"{card_id}#{pointer}"), "kind": kind}
