"""What a source is, told by its content; reads no more of it than that takes."""

from enum import StrEnum
from pathlib import Path

from auditor.intake.folder import RECORD_ENDINGS, is_folder


class SourceFormat(StrEnum):
    """What a path may lead to. ``records`` are our own; a map is never recognised, but chosen."""

    RECORDS = "records"
    NETCONF = "netconf"
    REDFISH = "redfish"
    SHEET = "sheet"
    WORKSHEET = "worksheet"


_ARCHIVES = (".zip", ".tar", ".tar.gz", ".tgz")
_START_BYTES = 1 << 16
_OWN = b"witnessmark/card-1"


def recognise(path: str) -> SourceFormat:
    """Return what a path leads to; what nothing else fits is taken for records, which say what is wrong."""
    name = path.lower()
    if is_folder(path) or name.endswith(_ARCHIVES):
        return SourceFormat.REDFISH if _is_redfish(path) else SourceFormat.RECORDS
    if name.endswith((".ndjson", ".gz")):
        return SourceFormat.RECORDS
    start = _start_of(path)
    if name.endswith(".csv"):
        return _kind_of_csv(start)
    if name.endswith(RECORD_ENDINGS) and _OWN in start:
        return SourceFormat.RECORDS
    return SourceFormat.NETCONF if _is_netconf(start) else SourceFormat.RECORDS


def _is_redfish(path: str) -> bool:
    from auditor.intake.redfish import looks_like_redfish  # most runs read records only

    return looks_like_redfish(path)


def _is_netconf(start: bytes) -> bool:
    from auditor.intake.netconf import looks_like_netconf  # most runs read records only

    return bool(start) and looks_like_netconf(start)


def _kind_of_csv(start: bytes) -> SourceFormat:
    heading = start.lstrip(b"\xef\xbb\xbf").partition(b"\n")[0]
    return SourceFormat.WORKSHEET if b"pointer" in heading else SourceFormat.SHEET


def _start_of(path: str) -> bytes:
    """Return the first bytes of a file, or none if it can't be read: its reader says why."""
    try:
        with Path(path).open("rb") as stream:
            return stream.read(_START_BYTES)
    except (OSError, ValueError):
        return b""
