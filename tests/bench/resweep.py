"""Bench: a sweep after 1 % of the cards has changed, against the first sweep, in processor time.

Each is the whole command, from records in one file to a sweep in the store. The re-sweep is on
another day, so every rule that asks for the day judges again.

Run: python -m tests.bench.resweep [COUNT [ROUNDS]]
"""

import sys
import tempfile
from pathlib import Path

from tests.bench.clock import cpu_seconds
from tests.bench.estate import write_estate

_CHANGED_EVERY = 100


def change_some(estate: Path) -> None:
    """Change one setting on one card in a hundred."""
    lines = estate.read_bytes().splitlines()
    for number in range(0, len(lines), _CHANGED_EVERY):
        lines[number] = lines[number].replace(b'"name":"UPS ', b'"name":"UPS no. ', 1)
    estate.write_bytes(b"\n".join(lines) + b"\n")


def sweep(estate: Path, store: Path, day: str) -> float:
    """Sweep once; return the processor time in seconds."""
    command = [sys.executable, "-m", "auditor", "sweep", str(estate), "--store", str(store), "--quiet"]
    return cpu_seconds([*command, "--as-of", day])


def main(count: int, rounds: int) -> None:
    """Print the figures: the least of each over the rounds."""
    first, again = [], []
    with tempfile.TemporaryDirectory() as folder:
        for number in range(rounds):
            estate, store = Path(folder, "estate.ndjson"), Path(folder, f"{number}.db")
            write_estate(estate, count)
            first.append(sweep(estate, store, "2026-11-25"))
            change_some(estate)
            again.append(sweep(estate, store, "2026-11-26"))
            sizes = [Path(f"{store}{ending}").stat().st_size / 1e6 for ending in ("", "-cache")]
    print(f"{count} cards, 1 % changed; store {sizes[0]:.1f} MB, cache {sizes[1]:.1f} MB")
    for name, seconds in (("first sweep", min(first)), ("re-sweep", min(again))):
        print(f"{name:12} {1e6 * seconds / count:7.1f} µs a card")
    print(f"re-sweep : first sweep = {min(again) / min(first):.3f}")


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(*(given + [20_000, 3][len(given) :]))
