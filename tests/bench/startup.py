"""Bench: ``audit`` on one record against ``python -c "import typer"``, in processor time.

Run: python -m tests.bench.startup [ROUNDS]
"""

import sys

from tests.bench.clock import least_cpu_seconds
from tests.rules.matrix import ROOT


def main(rounds: int) -> None:
    """Print the figures."""
    audit = [sys.executable, "-m", "auditor", "audit", str(ROOT / "fixtures/cards/compliant.json")]
    ours, bare = least_cpu_seconds(audit, [sys.executable, "-c", "import typer"], rounds=rounds)
    print(
        f"audit of one record {1e3 * ours:.0f} ms, import typer {1e3 * bare:.0f} ms, ratio {ours / bare:.2f}"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 20)
