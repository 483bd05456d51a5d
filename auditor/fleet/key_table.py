"""The SNMPv3 keys of the well-known words, made once and kept in a folder.

A word's key (Ku) takes a million octets of hashing, whatever the engine: so it is made once a
word list and protocol, and kept. The files hold keys of well-known words only, never anything
of a site's settings. Holds no comparison of keys.
"""

import os
import tempfile
from collections.abc import Iterable, Iterator, Mapping
from hashlib import sha256
from pathlib import Path
from typing import Final

from auditor.facts.localized_key import PROTOCOLS, key_octets, password_to_key

_FORMAT: Final = b"witnessmark word keys, format 1\n"
"""Begins each file; it also goes into the digest of its name, so a new format finds no old file."""

_DIGEST_OCTETS: Final = 32
_OTHERS_MAY_WRITE: Final = 0o022


class KeyTable(Mapping[str, tuple[bytes, ...]]):
    """By authentication protocol, the keys of the words, in the order of the words.

    A protocol is made, or read from its file, when it is first asked for: a run over records without
    localized keys does nothing. A file that is damaged, or that somebody else may have
    written, is made anew; a folder that can't be written to is no error.
    """

    def __init__(self, words: Iterable[str], folder: Path | None = None) -> None:
        """Take the words as they are spelled (see ``spellings``); without a folder, keep nothing."""
        self._words = tuple(sorted({word.encode() for word in words if word}))
        self._folder = folder
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

    def file_of(self, protocol: str) -> Path | None:
        """Return where the keys of a protocol are kept, or None if nowhere.

        The name holds a digest of format, protocol and words: other words have another file.
        """
        if self._folder is None:
            return None
        named = sha256(_FORMAT + protocol.encode())
        for word in self._words:
            named.update(len(word).to_bytes(4, "big") + word)
        return self._folder / f"word-keys-{protocol}-{named.hexdigest()[:32]}.bin"

    def _kept(self, protocol: str) -> tuple[bytes, ...]:
        file = self.file_of(protocol)
        octets = b"" if file is None else _read(file)
        keys = _keys_in(octets, protocol, len(self._words))
        if keys is None or keys[:1] != self._made(protocol, self._words[:1]):
            keys = self._made(protocol, self._words)
            if file is not None:
                _write(file, _FORMAT + _digest_of(keys) + b"".join(keys))
        return keys

    @staticmethod
    def _made(protocol: str, words: tuple[bytes, ...]) -> tuple[bytes, ...]:
        return tuple(password_to_key(word, protocol) for word in words)


def spellings(words: Iterable[str]) -> frozenset[str]:
    """Return each word in the spellings in which people set it: abc, Abc and ABC.

    Source: common practice, no source.
    """
    return frozenset(form for word in words for form in (word.lower(), word.capitalize(), word.upper()))


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
