"""Bench: instructions a card, of the audit and of the jq script, counted by valgrind.

Counts are the same on a busy machine, where times are not; but an instruction of one program may
take longer than one of another, so they stand beside the times and do not replace them. What a run
takes whatever the estate (start, compiling, finding out what cards share) is told apart.

Run: python -m tests.bench.instructions [FEWER MORE]; needs valgrind, and takes minutes.
"""

import re
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.clock import Command
from tests.bench.estate import write_estate
from tests.bench.throughput import commands, ratios

_COUNTING = ("valgrind", "--tool=cachegrind", "--cache-sim=no", "--cachegrind-out-file=/dev/null")
_COUNTED = re.compile(r"I +refs: +([\d,]+)")


def instructions(command: Command) -> int:
    """Return how many instructions one run takes."""
    done = subprocess.run([*_COUNTING, *command], capture_output=True, check=False)  # noqa: S603
    found = _COUNTED.search(done.stderr.decode(errors="replace"))
    if found is None:
        raise RuntimeError(f"{command[0]} was not counted")
    return int(found[1].replace(",", ""))


def main(fewer: int, more: int) -> None:
    """Print the figures: what ``more`` cards take beyond ``fewer`` is what cards take."""
    with tempfile.TemporaryDirectory() as folder:
        counts = []
        for count in (fewer, more):
            estate = Path(folder, f"{count}.ndjson")
            write_estate(estate, count)
            measured = commands(estate, Path(folder, "result.ndjson"))
            counts.append({name: instructions(command) for name, command in measured.items()})
        each = {name: (counts[1][name] - few) / (more - fewer) for name, few in counts[0].items()}
        print("\n".join(ratios({name: one / 1e6 for name, one in each.items()}, "million")))
        for name, few in counts[0].items():
            print(f"{name:16} {(few - fewer * each[name]) / 1e6:8.0f} million a run")


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(*(given + [900, 1500][len(given) :]))
