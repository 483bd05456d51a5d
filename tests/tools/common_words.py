"""Make ``auditor/facts/common-words.bin`` from the frequency lists of the zxcvbn package.

Run: python -m tests.tools.common_words
"""

from importlib.metadata import version
from pathlib import Path
from typing import Final

from zxcvbn.frequency_lists import FREQUENCY_LISTS  # type: ignore[import-untyped]  # ships no types

from auditor.facts.common_words import HEAD_OCTETS, NAME, digest_of

TARGET: Final = Path(__file__).parents[2] / "auditor" / "facts" / NAME


def content() -> bytes:
    """Return the file: a line on what it holds, then the digests, sorted."""
    words = {word.lower() for listed in FREQUENCY_LISTS.values() for word in listed}
    digests = sorted({digest_of(word) for word in words})
    head = (
        f"witnessmark: {len(digests)} digests (SHA-256, the first {HEAD_OCTETS} octets, sorted) of the words "
        f"of the frequency lists {', '.join(sorted(FREQUENCY_LISTS))} of zxcvbn {version('zxcvbn')}, "
        "Copyright (c) 2016 Daniel Wolf, MIT licence; made by tests/tools/common_words.py\n"
    )
    return head.encode() + b"".join(digests)


if __name__ == "__main__":
    TARGET.write_bytes(content())
