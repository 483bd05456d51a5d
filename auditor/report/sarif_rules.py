"""Rules as SARIF describes them: what they ask, how to mend, how severe, which controls.

Source: SARIF 2.1.0 (OASIS), section 3.49 (reportingDescriptor). ``security-severity`` and ``tags``
are the properties by which forges sort results: common practice, no source.
"""

from collections.abc import Iterator
from typing import Any

from auditor.report.figures import one_line
from auditor.report.plain import plain
from auditor.report.writer import Run
from auditor.rules.rule import Rule
from auditor.scoring.band import Band, band_of
from auditor.scoring.ccss import Scored, base_score
from auditor.scoring.deviation_finding import DEVIATION_FAULTS, least_severity
from auditor.scoring.shared_secret import SHARED_KINDS

_LEVELS = {
    Band.CRITICAL: "error", Band.HIGH: "error", Band.MEDIUM: "warning", Band.LOW: "note", Band.NONE: "note",
}  # fmt: skip


def level_of(band: Band) -> str:
    """Return the level of a severity band."""
    return _LEVELS[band]


def shared_id(kind: str) -> str:
    """Return the id of the rule that says a kind of secret is shared."""
    return f"shared-{kind.replace('_', '-')}"


def rule_descriptors(run: Run) -> Iterator[dict[str, Any]]:
    """Yield every rule of the run in its order, then what can be found on the estate as a whole."""
    for rule in run.program.rules:
        yield rule_descriptor(rule, run)
    for kind, shared in SHARED_KINDS.items():
        title = f"{shared.title} shared by several cards"
        mend = "Give each card a secret or key of its own."
        texts = (title, shared.because, mend)
        yield _descriptor(shared_id(kind), texts, base_score(shared.vector), ["estate"])
    for name, fault in DEVIATION_FAULTS.items():
        texts = (fault.title, fault.because, fault.mend)
        yield _descriptor(name, texts, least_severity(), ["deviations"])


def rule_descriptor(rule: Rule, run: Run) -> dict[str, Any]:
    """Return one rule: why, how to mend and verify, sources, severity and controls."""
    controls = [f"{each.name}:{name}" for each in run.crosswalks for name in each.rules.get(rule.id, ())]
    texts = (rule.title, rule.why, rule.mend.text)
    tags = [rule.family, *([rule.ruleset] if rule.ruleset else []), *controls]
    described = _descriptor(rule.id, texts, base_score(rule.vector), tags)
    further = (("Verify", rule.verify), ("Sources", "; ".join(rule.sources)))
    said = "".join(f"\n{name}: {_line(text)}" for name, text in further)
    described["help"]["text"] += said
    described["properties"] |= {"vector": rule.vector, "because": _line(rule.vector_because)}
    return described


def plain_descriptor(name: str, title: str, level: str) -> dict[str, Any]:
    """Return what is no rule of a ruleset, and has no severity of its own."""
    return {
        "id": name,
        "shortDescription": {"text": title},
        "help": {"text": title},
        "defaultConfiguration": {"level": level},
        "properties": {"tags": ["gate"]},
    }


def _descriptor(name: str, texts: tuple[str, str, str], severity: Scored, tags: list[str]) -> dict[str, Any]:
    title, why, mend = map(_line, texts)
    return {
        "id": name,
        "shortDescription": {"text": title},
        "fullDescription": {"text": why},
        "help": {"text": f"Why: {why}\nMend: {mend}"},
        "defaultConfiguration": {"level": level_of(band_of(severity.score))},
        "properties": {"security-severity": str(severity.score), "tags": list(dict.fromkeys(tags))},
    }


def _line(text: str) -> str:
    return plain(one_line(text))
