"""What one record may cost, so that a hostile or broken file can't exhaust the machine."""

from auditor.dataclass import dataclass
from auditor.errors import Fault

_MEBIBYTE = 1024 * 1024


@dataclass(frozen=True, slots=True)
class Limits:
    """Bytes of one record's text, levels of brackets, items of one list.

    The figures are our own: a record is a few kilobytes, nests ten deep, and no card holds
    ten thousand of anything.
    """

    record_bytes: int = 16 * _MEBIBYTE
    depth: int = 64
    items: int = 10_000


DEFAULT = Limits()


def too_large(file: str, line: int, limits: Limits) -> Fault:
    """Return the fault of a record with more bytes than allowed."""
    most, unit = limits.record_bytes, "bytes"
    if most % _MEBIBYTE == 0:
        most, unit = most // _MEBIBYTE, "MiB"
    remedy = "Check that this is a record: one is a few kilobytes. Several go into .ndjson, one a line."
    return Fault(file, "", line, 0, f"larger than {most} {unit}, the most for one record", remedy)
