"""Shipped rulesets as they were read once, before they were shipped: reading them anew is a fifth of a start.

``python -m tests.tools.ready_rulesets`` makes the files. Each holds for one text of a ruleset and one
state of the code that reads it: after any change the text itself is read again, until they are renewed.
"""

import hashlib
import pickle
from functools import cache
from pathlib import Path
from typing import Final

from auditor.packaged import packaged
from auditor.rules.rule import Ruleset

_READERS: Final = (
    ("dataclass.py",),
    ("rules", "condition.py"),
    ("rules", "loading.py"),
    ("rules", "parsing.py"),
    ("rules", "rule.py"),
)
"""The code that says what is made of a text."""

_DIGEST_OCTETS: Final = 32


def ready_ruleset(name: str, text: bytes) -> Ruleset | None:
    """Return a shipped ruleset, if it was made ready from this text by the code as it is; else None."""
    file = file_of(name)
    content = file.read_bytes() if file.is_file() else b""
    if content[:_DIGEST_OCTETS] != _digest_of(text):
        return None
    ruleset: Ruleset = pickle.loads(content[_DIGEST_OCTETS:])  # noqa: S301 - our own file
    return ruleset


def content_of(ruleset: Ruleset, text: bytes) -> bytes:
    """Return the file of a ruleset that was read from a text."""
    return _digest_of(text) + pickle.dumps(ruleset, protocol=5)


def file_of(name: str) -> Path:
    """Return where the file of a shipped ruleset lies, or would lie."""
    return packaged("rules", f"ready-{name}.pickle")


def _digest_of(text: bytes) -> bytes:
    return hashlib.sha256(_digest_of_code() + text).digest()


@cache
def _digest_of_code() -> bytes:
    return hashlib.sha256(b"".join(packaged(*names).read_bytes() for names in _READERS)).digest()
