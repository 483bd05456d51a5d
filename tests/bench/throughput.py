"""Bench: cards a second, microseconds a card, and ratios to parsing alone and to a jq script.

Run: python -m tests.bench.throughput [COUNT]
"""

import io
import shutil
import subprocess
import sys
import tempfile
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path

import orjson

from auditor.facts.fact import Context
from auditor.facts.words import well_known_words
from auditor.fleet.audit import audit_records, sum_up
from auditor.fleet.choices import load_crosswalks, load_program
from auditor.fleet.estate import EstateSums
from auditor.intake.records import read_records
from auditor.report.result_ndjson import make_ndjson
from auditor.report.writer import Look, Run
from auditor.scoring.band import Band
from auditor.version import VERSION
from tests.bench.estate import write_estate
from tests.rules.matrix import AS_OF


def seconds(work: Callable[[], object]) -> float:
    """Return the seconds that some work takes, the best of three."""
    times = []
    for _ in range(3):
        begin = time.perf_counter()
        work()
        times.append(time.perf_counter() - begin)
    return min(times)


def audit_to_ndjson(estate: Path, out: Path) -> None:
    """Audit an estate in this process, one core, with a result line a card."""
    program = load_program()
    run = Run(VERSION, AS_OF, program, load_crosswalks())
    context = Context(AS_OF, well_known_words())
    with out.open("wb") as stream:
        writer = make_ndjson(run, stream, Look())
        records = read_records([str(estate)], io.BytesIO())
        assessments = audit_records(records, program, context)
        writer.finish(sum_up(assessments, EstateSums(program, Band.MEDIUM), [writer.add]))


def jq(estate: Path) -> None:
    """Run the twelve checks over the same lines."""
    script = Path(__file__).with_name("twelve-checks.jq")
    with estate.open("rb") as lines:
        command = ["jq", "-c", "-f", str(script)]
        subprocess.run(command, stdin=lines, stdout=subprocess.DEVNULL, check=True)  # noqa: S603


def main(count: int) -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        estate, out = Path(folder, "estate.ndjson"), Path(folder, "result.ndjson")
        write_estate(estate, count)
        lines = estate.read_bytes().splitlines()
        size = sum(map(len, lines)) / len(lines)
        ours = seconds(lambda: audit_to_ndjson(estate, out))
        parse = seconds(lambda: deque(map(orjson.loads, lines), maxlen=0))
        print(f"{count} records of {size:.0f} bytes on average")
        print(f"audit to ndjson   {count / ours:8.0f} cards/s  {1e6 * ours / count:7.1f} µs/card")
        print(f"orjson.loads      {1e6 * parse / count:7.1f} µs/card  ratio {ours / parse:.2f}")
        if shutil.which("jq"):
            script = seconds(lambda: jq(estate))
            print(f"jq, 12 checks     {1e6 * script / count:7.1f} µs/card  ratio {ours / script:.2f}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20_000)
