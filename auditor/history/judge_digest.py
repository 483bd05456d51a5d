"""What judged a record, as one digest: the tool to its last letter, the rules, what was known.

Two assessments of one text under one such digest differ by nothing but the day.
"""

import hashlib
from functools import cache
from pathlib import Path

from auditor.facts.fact import Context
from auditor.packaged import packaged
from auditor.rules.program import Program
from auditor.version import VERSION

_CORE = ("record", "facts", "rules", "scoring")


def judge_digest(program: Program, context: Context) -> bytes:
    """Return the digest of everything beside the record and the day that an outcome hangs on.

    32 bytes. Rulesets and the site's file count by their text, known words one by one.
    """
    made = hashlib.sha256(_core_digest())
    parts = [
        VERSION,
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


@cache
def _core_digest() -> bytes:
    """Return the digest of the code that judges: of two clones, a version may say the same."""
    made = hashlib.sha256()
    for folder in _CORE:
        _add(made, packaged(folder))
    return made.digest()


def _add(made: "hashlib._Hash", folder: Path) -> None:
    for entry in sorted(folder.iterdir(), key=lambda each: each.name):
        if entry.is_file():
            text = entry.read_bytes()
            made.update(f"{entry.name} {len(text)} ".encode() + text)
