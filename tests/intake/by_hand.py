"""What tests of settings by hand share: records to write down, and bounds on what bad input may cost."""

import random
import time
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

from hypothesis import strategies as st

from auditor.errors import Fault, InputError
from auditor.record.settings import Settings
from tests.rules.mutation import random_card

SECONDS = 30.0
"""Longest time that a bad input may take here: far above what it takes, far below endless."""

MEBIBYTES = 256
"""Most memory that a bad input may take here."""

CARDS = st.integers(0, 2**32).map(lambda seed: said(random_card(random.Random(seed))))  # noqa: S311
"""Realistic valid records, without what says nothing."""


def said(card: Settings) -> Settings:
    """Return a record without the objects of which nothing is known, members of lists apart."""
    kept: Settings = _said(card)
    return kept


def _said(value: Any) -> Any:
    if isinstance(value, list):
        return [_said(member) for member in value]
    if not isinstance(value, dict):
        return value
    inner = {name: _said(member) for name, member in value.items()}
    return {name: member for name, member in inner.items() if member != {} or name == "sealed"}


def without_schema(card: Settings) -> Settings:
    """Return what an import gives of a record."""
    return {name: value for name, value in card.items() if name != "schema"}


def faults_of(read: Callable[[], object]) -> tuple[Fault, ...]:
    """Return the faults that reading a bad input ends in."""
    try:
        read()
    except InputError as error:
        return error.faults
    return ()


@contextmanager
def bounded() -> Iterator[None]:
    """Fail if the block takes more processor time, or more memory, than a bad input may."""
    tracemalloc.start()
    begun = time.process_time()
    try:
        yield
    finally:
        took = time.process_time() - begun
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    assert took < SECONDS
    assert peak < MEBIBYTES << 20
