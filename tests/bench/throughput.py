"""Bench: processor time a card, and ratios to parsing alone and to a jq script of twelve checks.

Ours is the whole command, from a file to result lines in a file, on one core: once with all rules
that are shipped, and once, like for like, with the same twelve checks as rules.

Run: python -m tests.bench.throughput [COUNT [ROUNDS]]
"""

import shutil
import sys
import tempfile
from collections.abc import Iterator, Mapping
from pathlib import Path

from tests.bench.clock import Command, least_cpu_seconds
from tests.bench.estate import write_estate
from tests.rules.matrix import AS_OF

_PARSE = "import orjson, sys\nfor line in open(sys.argv[1], 'rb'): orjson.loads(line)"


JQ = "jq, 12 checks"
PARSING = "orjson.loads"


def commands(estate: Path, out: Path) -> dict[str, Command]:
    """Return what is measured, by name: the audits first."""
    audit = [sys.executable, "-m", "auditor", "audit", str(estate), "--format", "ndjson"]
    audit += ["--output", str(out), "--quiet", "--as-of", AS_OF.isoformat()]
    here = Path(__file__).parent
    found: dict[str, Command] = {
        "audit, all rules": audit,
        "audit, 12 rules": [*audit, "--ruleset", str(here / "twelve-checks.toml")],
        PARSING: [sys.executable, "-c", _PARSE, str(estate)],
    }
    if shutil.which("jq"):
        found[JQ] = ["jq", "-c", "-f", str(here / "twelve-checks.jq"), str(estate)]
    return found


def ratios(measured: Mapping[str, float], unit: str) -> Iterator[str]:
    """Yield a line for each measured command: what a card takes, as often what the others take."""
    others = [name for name in (PARSING, JQ) if name in measured]
    for name, each in measured.items():
        times = ", ".join(f"{each / measured[other]:.2f} times {other}" for other in others if other != name)
        yield f"{name:16} {each:8.1f} {unit} a card  {times}"


def main(count: int, rounds: int) -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        estate = Path(folder, "estate.ndjson")
        write_estate(estate, count)
        print(f"{count} records of {estate.stat().st_size / count:.0f} bytes on average")
        measured = commands(estate, Path(folder, "result.ndjson"))
        times = least_cpu_seconds(*measured.values(), rounds=rounds)
        each = {name: 1e6 * seconds / count for name, seconds in zip(measured, times, strict=True)}
        print("\n".join(ratios(each, "µs")))
        print(f"cards per second: {1e6 / each['audit, all rules']:.0f}")


if __name__ == "__main__":
    given = [int(each) for each in sys.argv[1:]]
    main(*(given + [20_000, 5][len(given) :]))
