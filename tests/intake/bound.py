"""A bound on what a piece of work may cost: seconds, and memory that Python hands out."""

import time
import tracemalloc
from collections.abc import Iterator
from contextlib import contextmanager

_MEBIBYTE = 1024 * 1024


@contextmanager
def bounded(*, seconds: float, mebibytes: float) -> Iterator[None]:
    """Fail if the work inside took more processor time, or had more memory at once.

    The seconds are generous: work that has no bound at all would take minutes.
    """
    tracemalloc.start()
    began = time.process_time()
    try:
        yield
    finally:
        took = time.process_time() - began
        peak = tracemalloc.get_traced_memory()[1] / _MEBIBYTE
        tracemalloc.stop()
    assert took < seconds, f"took {took:.1f} s, allowed are {seconds} s"
    assert peak < mebibytes, f"needed {peak:.0f} MiB, allowed are {mebibytes} MiB"
