"""Bench: 1000 words against the localized keys of 10 000 engines, first run and cached run.

Seconds of processor time, so that another user of the machine hardly changes them.

Run: python -m tests.bench.localized_keys [WORDS [ENGINES [PROTOCOL]]]
"""

import sys
import tempfile
import time
from pathlib import Path

from auditor.facts.localized_key import localize, password_to_key, place_of_key
from auditor.fleet.key_table import KeyStore, KeyTable


def seconds_of_run(
    words: list[str], engines: list[bytes], protocol: str, folder: Path
) -> tuple[float, float]:
    """Return the seconds that the table takes, and those that the trying takes."""
    begin = time.process_time()
    keys = KeyTable(words, KeyStore(folder))[protocol]
    made = time.process_time()
    other = localize(password_to_key(b"none of the words", protocol), engines[0], protocol)
    found = [place_of_key(keys, other, engine_id=engine, protocol=protocol) for engine in engines]
    if any(place is not None for place in found):
        raise AssertionError("a key was found that is not there")
    return made - begin, time.process_time() - made


def main(word_count: int, engine_count: int, protocol: str) -> None:
    """Print the figures."""
    words = [f"{number:08}" for number in range(word_count)]  # digits: each has one spelling only
    engines = [bytes.fromhex("8000000001") + number.to_bytes(7, "big") for number in range(engine_count)]
    print(f"{word_count} words, {engine_count} engines, {protocol}")
    with tempfile.TemporaryDirectory() as folder:
        for run in ("first run", "cached run"):
            table, trying = seconds_of_run(words, engines, protocol, Path(folder))
            print(f"{run:10}  table {table:6.2f} s  trying {trying:6.2f} s  together {table + trying:6.2f} s")


if __name__ == "__main__":
    given = sys.argv[1:]
    main(
        int(given[0]) if given else 1000,
        int(given[1]) if len(given) > 1 else 10_000,
        given[2] if len(given) > 2 else "sha1",
    )
