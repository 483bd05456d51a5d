"""Bench: peak memory of ``audit --format ndjson`` at 20 000 and at 100 000 records.

Run: python -m tests.bench.memory [FORMAT]…
"""

import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.estate import write_estate

_MEASURE = """
import resource, sys
from auditor.cli.main import app
try:
    app(["audit", sys.argv[1], "--format", sys.argv[2], "--output", sys.argv[3], "--quiet"])
except SystemExit:
    pass
print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)
"""


def peak_kib(estate: Path, form: str, out: Path) -> int:
    """Return the peak resident memory of an audit, in KiB."""
    command = [sys.executable, "-c", _MEASURE, str(estate), form, str(out)]
    done = subprocess.run(command, capture_output=True, text=True, check=True)  # noqa: S603
    return int(done.stdout.split()[-1])


def estate_of(count: int, folder: Path) -> Path:
    """Return an estate of so many records in a folder, written at the first call."""
    estate = folder / f"{count}.ndjson"
    if not estate.exists():
        write_estate(estate, count)
    return estate


def main() -> None:
    """Print the figures."""
    with tempfile.TemporaryDirectory() as folder:
        for form in sys.argv[1:] or ("ndjson", "json", "html"):
            peaks = [
                peak_kib(estate_of(count, Path(folder)), form, Path(folder, "out"))
                for count in (20_000, 100_000)
            ]
            growth = 100 * (peaks[1] / peaks[0] - 1)
            small, large = (peak / 1024 for peak in peaks)
            print(f"{form:7} {small:.0f} MiB at 20 000, {large:.0f} MiB at 100 000: {growth:+.1f} %")


if __name__ == "__main__":
    main()
