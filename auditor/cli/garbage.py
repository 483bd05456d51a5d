"""How often Python looks for garbage that refers to itself while a run goes over many records."""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Final

_NEW_OBJECTS: Final = 100_000
"""So many more objects made than freed start a search: a record is a few hundred objects, and all
of them are freed without a search as soon as the record is forgotten. Python's own figure, 700,
starts several searches a record, which find nothing and took a tenth of an audit."""


@contextmanager
def collected_seldom() -> Iterator[None]:
    """Look for garbage seldom, and not at all among what was made before; afterwards as before.

    What was made before are modules and rules: they stay until the end.
    """
    before = gc.get_threshold()
    gc.freeze()
    gc.set_threshold(_NEW_OBJECTS, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)
        gc.unfreeze()
