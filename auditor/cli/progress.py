"""Progress of long runs: a count on standard error, only where that is a terminal."""

import sys
import time
from collections.abc import Iterable, Iterator
from typing import TypeVar

Item = TypeVar("Item")

_PATIENCE_S = 2.0
"""Runs shorter than this show nothing."""


def counted(items: Iterable[Item], *, quiet: bool) -> Iterator[Item]:
    """Yield the items, showing how many went by once the run has taken a while."""
    if quiet or not sys.stderr.isatty():
        yield from items
        return
    begin = time.monotonic()
    iterator = iter(items)
    for number, item in enumerate(iterator, 1):
        yield item
        if not number % 100 and time.monotonic() - begin > _PATIENCE_S:
            yield from _shown(iterator, number)


def _shown(items: Iterator[Item], already: int) -> Iterator[Item]:
    from rich.console import Console  # slow import: only a long run at a terminal needs it
    from rich.progress import Progress, TextColumn, TimeElapsedColumn

    columns = (TextColumn("{task.completed:.0f} cards audited"), TimeElapsedColumn())
    with Progress(*columns, console=Console(stderr=True), transient=True) as progress:
        task = progress.add_task("", total=None, completed=already)
        for item in items:
            yield item
            progress.advance(task)
