"""What judged a record, as one digest: the tool to its last letter, the rules, what was known.

Two assessments of one text under one such digest differ by nothing but the day. What lies
across several records (shared secrets, addresses that clash, deviations) is in no assessment
that is kept: it is worked out in every run.
"""

import hashlib
import sys
from collections.abc import Iterator
from functools import cache
from itertools import chain
from pathlib import Path
from typing import Final

from auditor.facts import yescrypt
from auditor.facts.fact import Context
from auditor.packaged import packaged
from auditor.rules.program import Program
from auditor.version import VERSION

_CORE: Final = ("record", "facts", "rules", "scoring")
_WRITER: Final = ("history", "lasting_text.py")
"""Writes down what was judged, and reads it again."""

LIBRARIES: Final = (
    "bcrypt", "cryptography", "jsonschema", "jsonschema-rs", "libpass", "orjson", "tomli", "zxcvbn",
)  # fmt: skip
"""What the core rests on: another version may read a certificate, or rate a password, otherwise."""


def judge_digest(program: Program, context: Context) -> bytes:
    """Return the digest of everything beside the record and the day that an outcome hangs on.

    32 bytes. Rulesets and the site's file count by their text, known words one by one.
    """
    made = hashlib.sha256(_core_digest())
    parts = [
        VERSION,
        *_ground(),
        *(f"{ruleset.name} {ruleset.digest}" for ruleset in program.rulesets),
        program.tailoring.digest,
        *sorted(context.words),
        "own", context.word_list, *program.tailoring.word_list.written,
        "hashes", *context.hash_words,
        "keys", *sorted(context.word_keys),
    ]  # fmt: skip
    for part in parts:
        text = part.encode()
        made.update(len(text).to_bytes(4, "big") + text)
    return made.digest()


def _ground() -> Iterator[str]:
    """Yield what the code that judges stands on, on this machine."""
    from importlib.metadata import version  # slow import, and most commands do not ask

    yield sys.version
    for library in LIBRARIES:
        yield f"{library} {version(library)}"
    yield f"yescrypt {yescrypt.is_known()}"


@cache
def _core_digest() -> bytes:
    """Return the digest of the code that judges: of two clones, a version may say the same."""
    made = hashlib.sha256()
    files = chain.from_iterable(_files_below(packaged(folder)) for folder in _CORE)
    for file in (*files, packaged(*_WRITER)):
        text = file.read_bytes()
        made.update(f"{file.name} {len(text)} ".encode() + text)
    return made.digest()


def _files_below(folder: Path) -> Iterator[Path]:
    """Yield code and data of a package and of the packages in it, in an order that is always the same."""
    for entry in sorted(folder.iterdir(), key=lambda each: each.name):
        if entry.is_file():
            yield entry
        elif entry.name != "__pycache__":
            yield from _files_below(entry)
