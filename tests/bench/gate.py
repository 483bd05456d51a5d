"""Bench: a gate over an estate of which one record in a hundred changed, against an audit of it all.

Run: python -m tests.bench.gate [COUNT [ROUNDS]]. What does not change is read and digested, and never parsed.
"""

import sys
import tempfile
from pathlib import Path

import orjson

from tests.bench.clock import least_cpu_seconds
from tests.bench.estate import generate
from tests.rules.matrix import AS_OF

_EVERY = 100


def write_states(before: Path, after: Path, count: int) -> None:
    """Write an estate twice; in the second, telnet is turned on in one record of a hundred."""
    with before.open("wb") as old, after.open("wb") as new:
        for number, line in enumerate(generate(count)):
            old.write(line + b"\n")
            new.write((_changed(line) if number % _EVERY == 0 else line) + b"\n")


def _changed(line: bytes) -> bytes:
    card = orjson.loads(line)
    card.setdefault("services", {})["telnet"] = {"enabled": True}
    return orjson.dumps(card)


def main(count: int, rounds: int) -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        before, after, out = (Path(folder, name) for name in ("before.ndjson", "after.ndjson", "out.json"))
        write_states(before, after, count)
        run = [sys.executable, "-m", "auditor"]
        end = ["--format", "json", "--output", str(out), "--as-of", AS_OF.isoformat()]
        commands = {
            "gate, 1 % changed": [*run, "gate", str(before), str(after), *end],
            "gate, none changed": [*run, "gate", str(before), str(before), *end],
            "audit of it all": [*run, "audit", str(after), "--quiet", *end],
        }
        times = least_cpu_seconds(*commands.values(), rounds=rounds)
        for name, seconds in zip(commands, times, strict=True):
            print(f"{name:19} {1e6 * seconds / count:7.1f} µs a record  ratio {seconds / times[-1]:5.3f}")


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(*(given + [20_000, 3][len(given) :]))
