"""Bench: ``audit`` on one record against ``python -c "import typer"``.

Run: python -m tests.bench.startup
"""

import os
import subprocess
import sys
import time

from tests.rules.matrix import ROOT


def best(command: list[str], runs: int = 15) -> float:
    """Return the seconds of the quickest of some runs, with compiled bytecode as an installation has it."""
    times = []
    cached = {name: value for name, value in os.environ.items() if name != "PYTHONDONTWRITEBYTECODE"}
    for _ in range(runs):
        begin = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False, env=cached)  # noqa: S603
        times.append(time.perf_counter() - begin)
    return min(times)


def main() -> None:
    """Print the figures."""
    card = str(ROOT / "fixtures/cards/compliant.json")
    ours = best([sys.executable, "-m", "auditor", "audit", card])
    bare = best([sys.executable, "-c", "import typer"])
    print(
        f"audit of one record {1e3 * ours:.0f} ms, import typer {1e3 * bare:.0f} ms, ratio {ours / bare:.2f}"
    )


if __name__ == "__main__":
    main()
