"""Standard output as a place for results; holds no talk, which goes to standard error.

A reader that goes away, such as ``head``, is no fault: the rest is dropped, and the run goes on
to its verdict. Any other fault is kept until the block ends, so that other reports are finished.
"""

import os
import sys
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import BufferedWriter, RawIOBase
from typing import IO, TYPE_CHECKING, Any, BinaryIO

from auditor.errors import OutputError

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer

NAME = "standard output"

_BUFFER = 1 << 16


@contextmanager
def standard_output() -> Iterator[BinaryIO]:
    """Open standard output for one result in bytes.

    Raises:
        OutputError: when the block ends, if something could not be written.
    """
    raw = _Tolerant(_stream())
    with BufferedWriter(raw, _BUFFER) as stream:
        yield stream
    if raw.fault is not None:
        from auditor.report.output import worded  # most runs meet no fault

        with worded(NAME):
            raise raw.fault


def show(text: str) -> None:
    """Print a result that is text.

    Raises:
        OutputError: if it can't be written.
    """
    with standard_output() as stream:
        stream.write(f"{text}\n".encode())


def let_go(stream: IO[Any]) -> None:
    """Turn a stream that failed to nowhere, or it fails again when the interpreter ends."""
    with suppress(OSError):  # a stream of a test has no number
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def _stream() -> BinaryIO:
    if sys.stdout is None:  # closed by whoever started this process
        raise OutputError(NAME, "it is closed", "Name a file with --output, or open it.")
    sys.stdout.flush()
    return sys.stdout.buffer


class _Tolerant(RawIOBase):
    """Passes bytes on until a write fails; takes all others and drops them."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream
        self._open = True
        self.fault: OSError | None = None

    def writable(self) -> bool:
        return True

    def write(self, data: "ReadableBuffer", /) -> int:
        taken = memoryview(data).nbytes
        if self._open:
            try:
                self._stream.write(data)
                self._stream.flush()
            except BrokenPipeError:
                self._leave()
            except OSError as error:
                self.fault = error
                self._leave()
        return taken

    def _leave(self) -> None:
        self._open = False
        let_go(self._stream)
