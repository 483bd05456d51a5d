"""The file of a site's sealing key: made once, read by its owner alone. Seals nothing.

It holds 32 random bytes as hexadecimal digits, on one line.
"""

import os
import re
import secrets
import stat
from pathlib import Path
from typing import Final

from auditor.errors import Fault, InputError, OutputError
from auditor.intake.folder import missing_folder, shown, unreadable

KEY_BYTES: Final = 32
_MODE: Final = 0o600
_OTHERS: Final = 0o077
_LONGEST: Final = 1024
_DIGITS: Final = re.compile(rb"([0-9a-fA-F]{%d})\s*" % (2 * KEY_BYTES))


def make_key_file(path: str) -> None:
    """Write a new random key to a file that is not there yet, for its owner alone to read.

    Raises:
        OutputError: if the file is there, or can't be made.
    """
    try:
        descriptor = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, _MODE)
    except (OSError, ValueError) as error:
        raise OutputError(shown(path), *_words(path, error)) from error
    with os.fdopen(descriptor, "wb") as stream:
        stream.write(secrets.token_hex(KEY_BYTES).encode() + b"\n")


def _words(path: str, error: OSError | ValueError) -> tuple[str, str]:
    if isinstance(error, FileNotFoundError):
        return missing_folder(path)
    if isinstance(error, FileExistsError):
        return (
            "this file is there already",
            "Keep it if it is a key: what it sealed needs it. Else choose another name.",
        )
    reason = (getattr(error, "strerror", None) or "its name can't be one").lower()
    return f"can't be written: {reason}", "Choose another place."


def read_key_file(path: str) -> bytes:
    """Return the key in a file.

    Raises:
        InputError: if others than its owner may read it, or it holds no key. Nothing of what
            it holds is repeated.
    """
    try:
        with Path(path).open("rb") as stream:
            status = os.fstat(stream.fileno())
            text = stream.read(_LONGEST)
    except (OSError, ValueError) as error:
        raise InputError([unreadable(path, error)]) from error
    if os.name == "posix" and stat.S_IMODE(status.st_mode) & _OTHERS:
        raise InputError(
            [
                _fault(
                    path,
                    "others than its owner may read this key",
                    f"Say: chmod 600 {shown(path)}. If somebody may have read it, make a new key.",
                )
            ]
        )
    digits = _DIGITS.fullmatch(text)
    if digits is None:
        problem = f"expected a key: {2 * KEY_BYTES} hexadecimal digits; found something else"
        raise InputError([_fault(path, problem, "Make a key with: witnessmark seal --new-key FILE.")])
    return bytes.fromhex(digits[1].decode("ascii"))


def _fault(path: str, problem: str, remedy: str) -> Fault:
    return Fault(shown(path), "", 0, 0, problem, remedy)
