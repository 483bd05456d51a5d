"""Streams of lines in bounded memory: one record a line. Knows nothing of what a line holds."""

from collections.abc import Iterator
from typing import BinaryIO

from auditor.errors import Fault
from auditor.record.limits import Limits, too_large

_CHUNK = 64 * 1024


def numbered_lines(
    stream: BinaryIO, file: str, limits: Limits, *, first: int = 1, skips: bool = True
) -> Iterator[tuple[int, bytes] | Fault]:
    """Yield number and bytes, without its end, of each line that is not blank.

    A line longer than a record may be is one fault; reading goes on at the next line, unless
    ``skips`` is false: then the stream is left, so that a small compressed file can't ask for
    endless work. The same holds for endless blank lines.
    """
    most = limits.record_bytes
    number, blank = first - 1, 0
    while line := stream.readline(most + 1):
        number += 1
        if len(line) > most and line[-1:] != b"\n":
            yield too_large(file, number, limits)
            if not skips:
                return
            _skip_line(stream)
        elif not line.isspace():
            blank = 0
            yield number, line.rstrip(b"\r\n")
        elif (blank := blank + len(line)) > most:
            yield Fault(file, "", number, 0, "endless blank lines", "Remove them: the rest was not read.")
            return


def _skip_line(stream: BinaryIO) -> None:
    while (part := stream.readline(_CHUNK)) and part[-1:] != b"\n":
        pass
