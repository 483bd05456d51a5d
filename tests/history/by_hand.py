"""Sweeps and results made by hand, for the tests of what becomes of findings."""

from collections.abc import Sequence
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any

from auditor.history.card_result import CardResult, FindingKey, KeptFinding
from auditor.history.chronicle import Chronicle, SweepPoint
from auditor.history.history import History, history_from
from auditor.history.sweep import Sweep
from auditor.rules.result import Outcome
from auditor.scoring.band import Band

START = datetime(2026, 1, 1, tzinfo=UTC)
BANDS = {
    "a": (9.3, Band.CRITICAL),
    "b": (7.5, Band.HIGH),
    "c": (4.1, Band.MEDIUM),
    "d": (2.0, Band.LOW),
    "n": (0.0, Band.NONE),
}
"""Severity and band of the rules."""

RULES = tuple(BANDS)


def day(number: float) -> datetime:
    """Return the moment so many days after the first."""
    return START + timedelta(days=number)


def finding(name: str) -> KeptFinding:
    """Return a finding: ``a`` on the card, ``b:x`` on member x."""
    rule, _, member = name.partition(":")
    severity, band = BANDS[rule]
    return KeptFinding(rule, member, member, Outcome.FAIL, severity, band)


def result(card: str, found: str = "", *, undecided: str = "", site: str = "North") -> CardResult:
    """Return the result of a card: findings and undecided results by name, a blank between them."""
    findings = tuple(sorted(map(finding, found.split())))
    open_ones = tuple(FindingKey(*name.partition(":")[::2]) for name in undecided.split())
    return CardResult(
        card, f"Card {card}", site, "ups", "critical", day(-10).isoformat(),
        points=100.0 - 10 * len(findings), maximum=100.0, decided=10 - len(open_ones), counted=10,
        findings=findings, undecided=open_ones,
    )  # fmt: skip


def sweep_on(number: float, *, rules: Sequence[str] = RULES, **others: Any) -> Sweep:
    """Return a sweep so many days after the first; what is not given is plain."""
    plain = Sweep(
        id=f"{int(number * 10):032x}", origin="0" * 32, part="", as_of=day(number), version="9.9.9",
        operator="Example Power", rulesets=("small 1",), rules={rule: f"Title of {rule}" for rule in rules},
        hold_at=Band.MEDIUM, held=True, unusable=0, every_days=90, capture_age_maximum_days=90,
    )  # fmt: skip
    return replace(plain, **others)


def told(*sweeps: tuple[Sweep, Sequence[CardResult]], as_of: datetime | None = None) -> History:
    """Return the history of some sweeps, as of the last unless said otherwise."""
    chronicle = Chronicle()
    points: list[SweepPoint] = [chronicle.take(sweep, results) for sweep, results in sweeps]
    return history_from(chronicle, points, as_of or points[-1].sweep.as_of)


def accepted(result: CardResult) -> CardResult:
    """Return a result with all findings under a deviation."""
    return replace(result, findings=tuple(each._replace(accepted=True) for each in result.findings))
