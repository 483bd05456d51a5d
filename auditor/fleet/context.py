"""What a run knows beside its records: the one place where the context of an audit is put together."""

from datetime import datetime
from functools import lru_cache
from typing import Final

from auditor.facts.crypt_hash import SHORT_LIST
from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.fleet.key_table import NOWHERE, BothTables, KeyStore, KeyTable
from auditor.rules.word_list import WordList

OWN_HASH_WORDS: Final = 16
"""So many of a site's own words, the first of its list, are tried on each crypt hash: trying is slow."""


def context_of_run(as_of: datetime, own: WordList, store: KeyStore = NOWHERE) -> Context:
    """Return the context in which the records of a run are judged.

    ``as_of`` is aware. ``own`` are the site's words that count as well known. ``store`` is where the
    keys of the shipped words are kept; without one they are made once a process. The keys of own words
    are never kept: such a key opens every card that has the word. No key is made or read
    before a record holds a localized one.
    """
    shipped = well_known_words()
    if not own.written:
        return Context(as_of, shipped, word_keys=_shipped_keys(store))
    return Context(
        as_of,
        shipped | own.words,
        word_keys=BothTables(_shipped_keys(store), KeyTable(own.written, KeyStore(None, store.watch))),
        hash_words=(*SHORT_LIST, *own.written[:OWN_HASH_WORDS]),
        own_words=own.words - shipped,
        word_list=own.name,
    )


@lru_cache(maxsize=8)
def _shipped_keys(store: KeyStore) -> KeyTable:
    return KeyTable(well_known_words(), store)
