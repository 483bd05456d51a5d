"""Twelve checks as rules against the same checks as a jq script, over generated records.

Source: the script is read by jq, a program that knows nothing of this project. It is the one that
the bench compares with, so that what is compared there does the same work.
"""

import shutil
import subprocess
from collections import Counter
from collections.abc import Iterator
from itertools import chain
from pathlib import Path

import orjson
import pytest

from auditor.fleet.audit import audit_stream
from auditor.fleet.choices import load_program
from auditor.rules.result import Outcome
from auditor.scoring.assessment import CardAssessment
from tests.bench.estate import generate
from tests.rules.matrix import AS_OF, ROOT

BENCH = ROOT / "tests/bench"
WORDS = {
    "telnet": "bench-telnet", "http": "bench-http", "ftp": "bench-ftp", "tftp": "bench-tftp",
    "snmp version": "bench-snmp-version", "community": "bench-community", "level": "bench-snmp-level",
    "factory account": "bench-factory-account", "tls": "bench-tls-version",
    "time servers": "bench-time-servers", "no collector": "bench-no-collector", "timeout": "bench-timeout",
}  # fmt: skip
"""What the script says, and the rule that says the same."""


@pytest.mark.skipif(shutil.which("jq") is None, reason="jq is not installed")
def test_rules_and_script_find_the_same(tmp_path: Path) -> None:
    """Card by card and as often; where something is not known, the script guesses and rules do not."""
    estate = tmp_path / "estate.ndjson"
    estate.write_bytes(b"".join(line + b"\n" for line in chain(generate(400), _with_clear_services())))
    script = ["jq", "-c", "-f", str(BENCH / "twelve-checks.jq"), str(estate)]
    said = subprocess.run(script, capture_output=True, check=True, text=True).stdout  # noqa: S603
    theirs = [Counter(WORDS[word] for word in orjson.loads(line)["found"]) for line in said.splitlines()]
    program = load_program([str(BENCH / "twelve-checks.toml")])
    ours = [
        card for card in audit_stream([str(estate)], program, as_of=AS_OF) if isinstance(card, CardAssessment)
    ]
    assert len(ours) == len(theirs) == 402
    assert set().union(*theirs) == set(WORDS.values()), "a check that never finds anything proves nothing"
    for card, found in zip(ours, theirs, strict=True):
        open_rules = {result.rule.id for result in card.results if result.outcome is Outcome.UNKNOWN}
        fails = Counter(finding.rule.id for finding in card.findings if finding.outcome is Outcome.FAIL)
        assert fails == Counter({rule: count for rule, count in found.items() if rule not in open_rules})


def _with_clear_services() -> Iterator[bytes]:
    """Yield cards with what the generated ones never have: FTP, and web pages in clear."""
    for name, service in (
        ("ftp", {"enabled": True}),
        ("http", {"enabled": True, "redirects_to_https": False}),
    ):
        card = orjson.loads((ROOT / "fixtures/cards/compliant.json").read_bytes())
        card["card"]["id"] = name
        card["services"][name] = service
        yield orjson.dumps(card)
