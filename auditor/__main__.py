"""``python -m auditor``: the same as the command ``witnessmark``."""

from auditor.cli.main import run

run()
