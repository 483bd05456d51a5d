"""Which localized SNMPv3 keys of a record were made of the same well-known passphrase. Compares no cards."""

from collections.abc import Iterator
from functools import partial
from typing import Final

from auditor.facts.fact import Context
from auditor.facts.localized_key import NO_WORD, place_of_word
from auditor.fleet.reuse import Passphrases
from auditor.record.settings import Settings

_EMPTY: Settings = {}
_SECRETS: Final = ("auth_secret", "priv_secret")


def passphrases_in(context: Context) -> Passphrases:
    """Return the function that finds the passphrases behind a record's localized keys.

    A localized key is another one on each engine; so that two cards have one passphrase is seen
    only where that passphrase is found. What stands for it is its place among the words.
    """
    return partial(_passphrases, context)


def _passphrases(context: Context, record: Settings) -> dict[str, str]:
    return dict(_found(context, record))


def _found(context: Context, record: Settings) -> Iterator[tuple[str, str]]:
    for user in record.get("snmp", _EMPTY).get("users", ()):
        for name in _SECRETS:
            key = user.get(name, _EMPTY).get("localized")
            place = None if key is None else place_of_word(key, user, record, context)
            if place is not None and place != NO_WORD:
                yield key.lower(), str(place)
