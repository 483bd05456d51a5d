"""The rules of the report as Markdown: how to mend what was found, and the sums by control."""

from collections.abc import Iterable, Sequence

from auditor.fleet.estate import EstateSummary
from auditor.report.by_control import ControlCards, ControlSum, control_sums
from auditor.report.figures import is_unknown
from auditor.report.kinds import FindingKind
from auditor.report.markdown_text import code, folded, html_code, prose, table
from auditor.report.mend_care import FoundTogether, care_of
from auditor.report.writer import Run
from auditor.rules.rule import Rule
from auditor.scoring.assessment import Finding, weight_of

_CAPTURE = "Capture the settings that the findings name, and audit again."


def rule_lines(kinds: Sequence[FindingKind], together: FoundTogether) -> list[str]:
    """Return why each rule with findings matters and how to mend it, folded, worst first."""
    examples: dict[Rule, list[Finding]] = {}
    for kind in kinds:
        examples.setdefault(kind.example.rule, []).append(kind.example)
    if not examples:
        return []
    lines = ["## Why it matters, and how to mend it"]
    for rule, findings in examples.items():
        lines += ["", *_rule(rule, findings, together)]
    return lines


def _rule(rule: Rule, findings: Sequence[Finding], together: FoundTogether) -> list[str]:
    to_mend = not all(map(is_unknown, findings))
    care = " ".join(care_of(rule, together)) if to_mend else ""
    parts = (
        ("Why", rule.why),
        *((("Not known", _CAPTURE),) if any(map(is_unknown, findings)) else ()),
        *((("Mend", rule.mend.text),) if to_mend else ()),
        *((("Heed", care),) if care else ()),
        ("Verify", rule.verify),
        ("Sources", "; ".join(rule.sources)),
        ("Base vector", f"{rule.vector}, score and weight {weight_of(rule)}. {rule.vector_because}"),
    )
    lines = [f"- **{name}:** {prose(text)}" for name, text in parts]
    return folded(f"{html_code(rule.id)}: {prose(rule.title)}", lines)


def control_lines(run: Run, summary: EstateSummary, cards: ControlCards) -> list[str]:
    """Return a table of sums by control for every crosswalk."""
    sums = control_sums(run, summary, cards)
    if not sums or not summary.whole.cards:
        return []
    lines = ["## By control"]
    for crosswalk in run.crosswalks:
        own = [each for each in sums if each.crosswalk == crosswalk.name]
        title = f"### {prose(crosswalk.title)}, {prose(crosswalk.edition)}"
        lines += ["", title, "", *_controls(own)] if own else []
    return lines


def _controls(sums: Iterable[ControlSum]) -> list[str]:
    columns = ("control", "title", "passed:", "failed:", "undecided:", "cards failing:", "rules")
    return table(columns, map(_control, sums))


def _control(sums: ControlSum) -> tuple[str, ...]:
    figures = (sums.passed, sums.failed, sums.unknown, sums.cards_failing)
    return (prose(sums.control), prose(sums.title), *map(str, figures), " ".join(map(code, sums.rules)))
