"""What a run knows beside its records: the one place where the context of an audit is put together."""

from datetime import datetime
from functools import lru_cache

from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.fleet.key_table import NOWHERE, KeyStore, KeyTable


def context_of_run(as_of: datetime, store: KeyStore = NOWHERE) -> Context:
    """Return the context in which the records of a run are judged.

    ``as_of`` is aware. ``store`` is where the keys of the well-known words are kept; without one they
    are made once a process. No key is made or read before a record holds a localized one.
    """
    return Context(as_of, well_known_words(), word_keys=_shipped_keys(store))


@lru_cache(maxsize=8)
def _shipped_keys(store: KeyStore) -> KeyTable:
    return KeyTable(well_known_words(), store)
