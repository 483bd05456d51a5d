"""The report as Markdown, for a forge or a wiki: the verdict first, details folded away."""

from collections.abc import Iterable, Iterator, Sequence
from typing import BinaryIO

from auditor.fleet.estate import EstateSummary, GroupSum
from auditor.report import address_view
from auditor.report.address_view import clash_count, clash_rows
from auditor.report.by_control import ControlCards
from auditor.report.caution import CAUTIONS
from auditor.report.deviation_view import accepted_among, share_text
from auditor.report.figures import bands_text, listed, moment_text, percent_text, severity_text, title_of
from auditor.report.kinds import FindingKind, FindingKinds
from auditor.report.markdown_cards import card_lines
from auditor.report.markdown_reach import reach_lines
from auditor.report.markdown_rules import control_lines, rule_lines
from auditor.report.markdown_text import code, prose, table
from auditor.report.markdown_times import time_lines
from auditor.report.mend_care import FoundTogether
from auditor.report.reuse_view import INTRODUCTION, TITLE, SharedRow, left_out, shared_rows
from auditor.report.tailored import choices
from auditor.report.verdict import counted, unusable_counted, verdict
from auditor.report.writer import TOOL, Look, Run
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.band import Band

_SHOWN_KINDS = 200
_SHOWN_GROUPS = 50
_SHOWN_FAULTS = 50
_BANDS = (Band.CRITICAL, Band.HIGH, Band.MEDIUM, Band.LOW)


class Markdown:
    """Counts findings, controls and rules found together as cards come; writes everything at the end."""

    def __init__(self, run: Run, stream: BinaryIO) -> None:
        """Start with no card."""
        self._run = run
        self._stream = stream
        self._kinds = FindingKinds()
        self._controls = ControlCards(run)
        self._together = FoundTogether(run.program.rules)

    def add(self, assessment: CardAssessment) -> None:
        """Take one card."""
        self._kinds.add(assessment)
        self._controls.add(assessment)
        self._together.add(assessment)

    def finish(self, summary: EstateSummary) -> None:
        """Write the sections of the report."""
        sections = ("\n".join(lines) + "\n" for lines in self._sections(summary) if lines)
        self._stream.write("\n".join(sections).encode())

    def _sections(self, summary: EstateSummary) -> Iterator[list[str]]:
        kinds = self._kinds.worst_first
        yield _head(self._run, summary)
        yield _figures(self._run, summary)
        yield reach_lines(summary)
        yield _findings(kinds)
        yield _cautions(kinds)
        yield card_lines(self._run, summary)
        yield _deviations(summary)
        yield _shared(summary)
        yield _clashes(summary)
        yield time_lines(self._run, summary)
        yield _groups(summary)
        yield rule_lines(kinds, self._together)
        yield control_lines(self._run, summary, self._controls)
        yield _faults(summary)
        yield _tailoring(self._run)
        made = f"Made by {TOOL} {prose(self._run.version)}."
        yield [f"{made} The formats json and html show how each number came about."]


def _head(run: Run, summary: EstateSummary) -> list[str]:
    said = verdict(summary)
    of = f" of {prose(run.program.tailoring.operator)}" if run.program.tailoring.operator else ""
    return [f"# Audit of the management cards{of}", "", f"**{said.word}: {said.reason}**"]


def _figures(run: Run, summary: EstateSummary) -> list[str]:
    whole = summary.whole
    score = f"{percent_text(whole.score.percent)} of 100"
    points = f" ({whole.score.points:.1f} of {whole.score.maximum:.1f} points)" if whole.score.maximum else ""
    rows = [
        ("score", score + points),
        *_aside(run, whole),
        ("coverage", f"{percent_text(whole.coverage_percent)} %"),
        ("cards", str(whole.cards)),
        ("worst finding", whole.worst.value),
        ("findings", bands_text(whole.findings_by_band)),
        *([("accepted", accepted_among(whole))] if whole.accepted else []),
        ("held from", summary.hold_at.value),
        ("as of", moment_text(run.as_of)),
        *(("ruleset", f"{prose(each.title)}, {each.name} {each.version}") for each in run.program.rulesets),
    ]
    return table(("figure", "value"), rows)


def _aside(run: Run, whole: GroupSum) -> Iterator[tuple[str, str]]:
    if run.deviations:
        percent = percent_text(whole.accepted_score.percent)
        yield "score with accepted deviations set aside", f"{percent} of 100"


def _findings(kinds: Sequence[FindingKind]) -> list[str]:
    if not kinds:
        return []
    shown = kinds[:_SHOWN_KINDS]
    rows = [_kind_row(kind) for kind in shown]
    columns = ("severity", "what is wrong", "rule", "cards:", "findings:", "for example", "there")
    more = len(kinds) - len(shown)
    rest = ["", f"… and {counted(more, 'kind')} more; the format json lists them."] if more > 0 else []
    return ["## Findings by severity", "", *table(columns, rows), *rest]


def _kind_row(kind: FindingKind) -> tuple[str, ...]:
    finding = kind.example
    return (
        severity_text(finding),
        prose(title_of(finding, finding.rule.title)) + _accepted(kind),
        code(finding.rule.id),
        str(kind.cards),
        str(kind.findings),
        code(kind.example_card),
        code(finding.label or finding.pointer) or finding.outcome.value,
    )


def _accepted(kind: FindingKind) -> str:
    return f" ({share_text(kind.accepted, kind.findings)})" if kind.accepted else ""


def _deviations(summary: EstateSummary) -> list[str]:
    if summary.deviations is None:
        return []
    from auditor.report.markdown_deviations import deviation_lines  # many runs have no deviations

    return deviation_lines(summary)


def _cautions(kinds: Sequence[FindingKind]) -> list[str]:
    if not kinds:
        return []
    return ["## Before you change anything", "", *(f"- {caution}" for caution in CAUTIONS)]


def _clashes(summary: EstateSummary) -> list[str]:
    rows = clash_rows(summary)
    if not rows:
        return []
    cells = [(row.what, code(row.where), listed(map(code, row.cards), row.more)) for row in rows]
    left = clash_count(summary) - len(rows)
    more = ["", f"{left} more are not shown."] if left else []
    title = f"## {address_view.TITLE}"
    return [
        title,
        "",
        prose(address_view.INTRODUCTION),
        "",
        *table(("clash", "address", "cards"), cells),
        *more,
    ]


def _shared(summary: EstateSummary) -> list[str]:
    if not summary.shared:
        return []
    columns = ("severity", "shared", "opens", "cards:", "loads", "for example")
    rows = [_shared_row(row) for row in shared_rows(summary)]
    rest = left_out(summary)
    return [f"## {TITLE}", "", INTRODUCTION, "", *table(columns, rows), *(["", rest] if rest else [])]


def _shared_row(row: SharedRow) -> tuple[str, ...]:
    severity = f"{row.group.severity.score} {row.group.band.value}"
    shared = f"{prose(row.what)} ({row.seen})"
    more = f" and {row.more} more" if row.more else ""
    ids = ", ".join(code(name) for name in row.card_ids) + more
    return severity, shared, prose(row.opens), str(row.group.cards), prose(row.loads), ids


def _groups(summary: EstateSummary) -> list[str]:
    groups = {name: members for name, members in summary.groups.items() if len(members) > 1}
    if not groups:
        return []
    aside = ("deviations aside:",) if summary.deviations else ()
    bands = (f"{band.value}:" for band in _BANDS)
    columns = ("group", "cards:", "worst", "score:", *aside, "coverage %:", *bands)
    rows = [
        _group_row(name, group, aside=bool(aside))
        for name, members in groups.items()
        for group in members[:_SHOWN_GROUPS]
    ]
    return ["## By site, kind and load", "", *table(columns, rows)]


def _group_row(grouping: str, group: GroupSum, *, aside: bool) -> Iterable[str]:
    return (
        f"{grouping}: {code(group.name) or 'not said'}",
        str(group.cards),
        group.worst.value,
        percent_text(group.score.percent),
        *((percent_text(group.accepted_score.percent),) if aside else ()),
        percent_text(group.coverage_percent),
        *(str(group.findings_by_band[band]) for band in _BANDS),
    )


def _faults(summary: EstateSummary) -> list[str]:
    if not summary.unusable:
        return []
    lines = ["## Not audited", "", f"{unusable_counted(summary)} could not be used.", ""]
    for fault in summary.faults[:_SHOWN_FAULTS]:
        place, _, remedy = str(fault).rpartition("\n")
        lines.append(f"- {code(place)}<br>{code(remedy)}")
    more = len(summary.faults) - _SHOWN_FAULTS
    return [*lines, f"- … and {counted(more, 'fault')} more"] if more > 0 else lines


def _tailoring(run: Run) -> list[str]:
    chosen = choices(run.program)
    if not chosen:
        return []
    rows = [(choice.kind, code(choice.name), prose(choice.text)) for choice in chosen]
    file = code(run.program.tailoring.file)
    lines = [f"By {file}, SHA-256 `{run.program.tailoring.digest}`:", ""]
    return ["## Tailored by the site", "", *lines, *table(("choice", "of", "what"), rows)]


def make_markdown(run: Run, stream: BinaryIO, look: Look) -> Markdown:  # noqa: ARG001 - one look only
    """Return a writer of the report as Markdown."""
    return Markdown(run, stream)
