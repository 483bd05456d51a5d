"""The folder in which a run keeps what the next one need not compute again, and who is told meanwhile.

Only the SNMPv3 keys of the shipped well-known words lie there; nothing of a site ever does.
"""

import os
import sys
from collections.abc import Iterator, Sequence
from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from auditor.fleet.key_table import KeyStore

VARIABLE: Final = "WITNESSMARK_CACHE"
"""Names another folder; empty, nothing is kept."""

_NAME: Final = "witnessmark"
_EVERY: Final = 50
"""So many words take about a tenth of a second."""


def key_store(*, quiet: bool = False) -> "KeyStore":
    """Return where the keys of the well-known words are kept, and how their making is shown."""
    from auditor.fleet.key_table import KeyStore, unwatched

    shown = not quiet and sys.stderr is not None and sys.stderr.isatty()
    return KeyStore(cache_folder(), _told if shown else unwatched)


def cache_folder() -> Path | None:
    """Return the folder for what may be computed again, or None where nothing is to be kept.

    Source: XDG Base Directory Specification: ``$XDG_CACHE_HOME`` if it is an absolute path, else
    ``~/.cache``. Where the system has ``%LOCALAPPDATA%``, that is taken before the latter.
    """
    chosen = os.environ.get(VARIABLE)
    if chosen is not None:
        return Path(chosen) if chosen else None
    for variable in ("XDG_CACHE_HOME", "LOCALAPPDATA"):
        place = Path(os.environ.get(variable, ""))
        if place.is_absolute():
            return place / _NAME
    with suppress(RuntimeError):  # nobody's home
        return Path.home() / ".cache" / _NAME
    return None


def _told(words: Sequence[bytes], protocol: str) -> Iterator[bytes]:
    """Pass words on, showing on one line of standard error how many are done; the line goes at the end."""
    for number, word in enumerate(words):
        if not number % _EVERY:
            _show(f"Making the {protocol} keys of the well-known words: {number} of {len(words)}")
        yield word
    _show("")


def _show(text: str) -> None:
    with suppress(OSError):
        sys.stderr.write(f"\r\x1b[K{text}")
        sys.stderr.flush()
