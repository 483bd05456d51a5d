"""The SNMPv3 keys of the well-known words, made once and kept in a folder.

A word's key (Ku) takes a million octets of hashing, whatever the engine: so it is made once a
word list and protocol, and kept. The files hold keys of the shipped words only, never anything
of a site's: neither its settings nor its own words. Holds no comparison of keys.
"""

import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import Final, TypeAlias

from auditor.dataclass import dataclass
from auditor.facts.localized_key import PROTOCOLS, key_octets, password_to_key

_FORMAT: Final = b"witnessmark word keys, format 1\n"
"""Begins each file; it also goes into the digest of its name, so a new format finds no old file."""

_DIGEST_OCTETS: Final = 32
_OTHERS_MAY_WRITE: Final = 0o022


Watch: TypeAlias = Callable[[Sequence[bytes], str], Iterable[bytes]]
"""Passes on the words whose keys are being made, and may tell somebody; the text is the protocol."""


def unwatched(words: Sequence[bytes], _protocol: str) -> Iterable[bytes]:
    """Pass the words on, and tell nobody."""
    return words


@dataclass(frozen=True, slots=True)
class KeyStore:
    """Where keys are kept between runs (nowhere without a folder), and who watches them being made."""

    folder: Path | None = None
    watch: Watch = unwatched


NOWHERE: Final = KeyStore()
"""Keys are made in every run that needs them, and kept in memory only."""


class KeyTable(Mapping[str, tuple[bytes, ...]]):
    """By authentication protocol, the keys of the words, in the order of the words.

    A protocol is made, or read from its file, when it is first asked for: a run over records without
    localized keys does nothing. A file that is damaged, or that somebody else may have
    written, is made anew; a folder that can't be written to is no error.
    """

    def __init__(self, words: Iterable[str], store: KeyStore = NOWHERE) -> None:
        """Take the words; each is tried in its usual ``spellings``."""
        self._given = words
        self._store = store
        self._keys: dict[str, tuple[bytes, ...]] = {}

    def __getitem__(self, protocol: str) -> tuple[bytes, ...]:
        """Return the keys of a protocol.

        Raises:
            KeyError: if the protocol is none of ``PROTOCOLS``.
        """
        if protocol not in self._keys:
            if protocol not in PROTOCOLS:
                raise KeyError(protocol)
            self._keys[protocol] = self._kept(protocol)
        return self._keys[protocol]

    def __iter__(self) -> Iterator[str]:
        """Go over the protocols; no key is made."""
        return iter(PROTOCOLS)

    def __len__(self) -> int:
        """Return the number of protocols."""
        return len(PROTOCOLS)

    @cached_property
    def words(self) -> tuple[bytes, ...]:
        """The words as they are spelled; key number n of every protocol is that of word number n."""
        return tuple(sorted({word.encode() for word in spellings(self._given) if word}))

    def file_of(self, protocol: str) -> Path | None:
        """Return where the keys of a protocol are kept, or None if nowhere.

        The name holds a digest of format, protocol and shipped words: other words have another file.
        """
        if self._store.folder is None:
            return None
        named = sha256(_FORMAT + protocol.encode())
        for word in self.words:
            named.update(len(word).to_bytes(4, "big") + word)
        return self._store.folder / f"word-keys-{protocol}-{named.hexdigest()[:32]}.bin"

    def _kept(self, protocol: str) -> tuple[bytes, ...]:
        file = self.file_of(protocol)
        octets = b"" if file is None else _read(file)
        keys = _keys_in(octets, protocol, len(self.words))
        if keys is None or keys[:1] != _made(self.words[:1], protocol):
            keys = _made(self._store.watch(self.words, protocol), protocol)
            if file is not None:
                _write(file, _FORMAT + _digest_of(keys) + b"".join(keys))
        return keys


def _made(words: Iterable[bytes], protocol: str) -> tuple[bytes, ...]:
    return tuple(password_to_key(word, protocol) for word in words)


class BothTables(Mapping[str, tuple[bytes, ...]]):
    """The keys of two tables, those of the first before those of the second."""

    def __init__(self, first: KeyTable, second: KeyTable) -> None:
        """Make nothing yet."""
        self._tables = first, second
        self._keys: dict[str, tuple[bytes, ...]] = {}

    def __getitem__(self, protocol: str) -> tuple[bytes, ...]:
        """Return the keys of a protocol, one and the same object each time.

        Raises:
            KeyError: if the protocol is none of ``PROTOCOLS``.
        """
        if protocol not in self._keys:
            first, second = self._tables
            self._keys[protocol] = first[protocol] + second[protocol]
        return self._keys[protocol]

    def __iter__(self) -> Iterator[str]:
        """Go over the protocols; no key is made."""
        return iter(PROTOCOLS)

    def __len__(self) -> int:
        """Return the number of protocols."""
        return len(PROTOCOLS)


def spellings(words: Iterable[str]) -> frozenset[str]:
    """Return each word in the spellings in which people set it: as it is, abc, Abc and ABC.

    Source: common practice, no source.
    """
    return frozenset(form for word in words for form in (word, word.lower(), word.capitalize(), word.upper()))


def _keys_in(octets: bytes, protocol: str, count: int) -> tuple[bytes, ...] | None:
    """Return the keys in a file's content, or None if it is not what was written."""
    size = key_octets(protocol)
    begin = len(_FORMAT) + _DIGEST_OCTETS
    if len(octets) != begin + count * size or not octets.startswith(_FORMAT):
        return None
    keys = tuple(octets[at : at + size] for at in range(begin, len(octets), size))
    return keys if octets[len(_FORMAT) : begin] == _digest_of(keys) else None


def _digest_of(keys: tuple[bytes, ...]) -> bytes:
    return sha256(b"".join(keys)).digest()


def _read(file: Path) -> bytes:
    """Return the content of a file that only its owner, who is the user, can have written."""
    try:
        with file.open("rb") as stream:
            return stream.read() if _is_ours(os.fstat(stream.fileno())) else b""
    except OSError:
        return b""


def _is_ours(status: os.stat_result) -> bool:
    if not hasattr(os, "getuid"):
        return True  # the system's own rights on the folder decide
    return status.st_uid == os.getuid() and not status.st_mode & _OTHERS_MAY_WRITE


def _write(file: Path, octets: bytes) -> None:
    """Write a file whole or not at all, readable by its owner only."""
    import tempfile  # slow import, needed where keys are made only

    try:
        file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
        descriptor, name = tempfile.mkstemp(dir=file.parent, prefix=".word-keys-")
    except OSError:
        return
    temporary = Path(name)
    try:
        with os.fdopen(descriptor, "wb") as stream:
            stream.write(octets)
        temporary.replace(file)
    except OSError:
        temporary.unlink(missing_ok=True)
