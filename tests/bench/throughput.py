"""Bench: processor time a card, and ratios to parsing alone and to a jq script of twelve checks.

Ours is the whole command, from a file to result lines in a file, on one core.

Run: python -m tests.bench.throughput [COUNT [ROUNDS]]
"""

import shutil
import sys
import tempfile
from pathlib import Path

from tests.bench.clock import Command, least_cpu_seconds
from tests.bench.estate import write_estate
from tests.rules.matrix import AS_OF

_PARSE = "import orjson, sys\nfor line in open(sys.argv[1], 'rb'): orjson.loads(line)"


def commands(estate: Path, out: Path) -> dict[str, Command]:
    """Return what is measured, by name: the audit first."""
    audit = [sys.executable, "-m", "auditor", "audit", str(estate), "--format", "ndjson"]
    found: dict[str, Command] = {
        "audit to ndjson": [*audit, "--output", str(out), "--quiet", "--as-of", AS_OF.isoformat()],
        "orjson.loads": [sys.executable, "-c", _PARSE, str(estate)],
    }
    if shutil.which("jq"):
        script = Path(__file__).with_name("twelve-checks.jq")
        found["jq, 12 checks"] = ["jq", "-c", "-f", str(script), str(estate)]
    return found


def main(count: int, rounds: int) -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        estate = Path(folder, "estate.ndjson")
        write_estate(estate, count)
        print(f"{count} records of {estate.stat().st_size / count:.0f} bytes on average")
        measured = commands(estate, Path(folder, "result.ndjson"))
        times = least_cpu_seconds(*measured.values(), rounds=rounds)
        for name, seconds in zip(measured, times, strict=True):
            ratio = times[0] / seconds
            print(f"{name:16} {1e6 * seconds / count:7.1f} µs a card  ratio {ratio:5.2f}")


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(*(given + [20_000, 5][len(given) :]))
