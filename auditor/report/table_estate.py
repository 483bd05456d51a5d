"""Many cards for a terminal: sums, the worst findings, the worst cards, the groups."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import islice

from auditor.fleet.estate import EstateSummary, GroupSum
from auditor.report import address_view
from auditor.report.address_view import clash_count, clash_rows
from auditor.report.deviation_view import accepted_among, accepted_score_of, aside_text, share_text
from auditor.report.figures import bands_text, listed, one_line, percent_text, title_of
from auditor.report.ink import OF_BAND
from auditor.report.kinds import FindingKind
from auditor.report.layout import Cell, Column, Fit, grid
from auditor.report.plain import plain
from auditor.report.reuse_view import TITLE, SharedRow, shared_rows
from auditor.report.table_notes import Page, run_line
from auditor.report.table_reach import estate_block
from auditor.report.table_times import estate_order
from auditor.report.verdict import counted
from auditor.scoring.assessment import CardAssessment, score_of
from auditor.scoring.band import Band
from auditor.scoring.xccdf import Model

NOT_SAID = "not said"

_SHOWN_KINDS = 20
_SHOWN_CARDS = 20
_SHOWN_GROUPS = 10
_SHOWN_SHARED = 10
_WIDE = 110
"""From so many columns on there is room for sites and the names of rules."""

_BANDS = (Band.CRITICAL, Band.HIGH, Band.MEDIUM, Band.LOW)
_COUNTS = tuple(Column(name, number=True) for name in ("crit", "high", "med", "low"))
_FIGURES = (Column("coverage", number=True), *_COUNTS)


def estate_blocks(page: Page, summary: EstateSummary, kinds: Sequence[FindingKind]) -> Iterator[list[str]]:
    """Yield the sums, the worst findings, the worst cards, and the groups of cards."""
    yield [*_sums(page, summary.whole), *run_line(page)]
    yield estate_block(page, summary)
    yield _findings(page, kinds)
    yield _cards(page, summary)
    yield _shared(page, summary)
    yield _clashes(page, summary)
    yield estate_order(page, summary)
    yield _groups(page, summary.groups)


def _sums(page: Page, whole: GroupSum) -> list[str]:
    figures = [
        f"score {percent_text(whole.score.percent)} of 100",
        aside_text(page.run, whole.accepted_score),
        f"coverage {percent_text(whole.coverage_percent)} %",
        counted(whole.cards, "card"),
    ]
    findings = counted(sum(whole.findings_by_band.values()), "finding")
    said = f"{findings}: {bands_text(whole.findings_by_band)}"
    accepted = accepted_among(whole)
    return [*page.joined(figures), *page.wrapped(f"{said}; {accepted}" if accepted else said)]


def _findings(page: Page, kinds: Sequence[FindingKind]) -> list[str]:
    if not kinds:
        return []
    shown = kinds[:_SHOWN_KINDS]
    columns = [Column("severity"), Column("what is wrong", fit=Fit.WRAP), Column("cards", number=True)]
    columns.append(Column("for example", fit=Fit.CUT_END))
    wide = page.width >= _WIDE
    if wide:
        columns.append(Column("rule", fit=Fit.CUT_END))
    rows = [_kind_row(kind, wide=wide) for kind in shown]
    note = f"{len(shown)} of {counted(len(kinds), 'kind')}: one rule at one severity"
    return [page.heading("Worst findings", note), *grid(columns, rows, page.width, page.ink)]


def _kind_row(kind: FindingKind, *, wide: bool) -> list[Cell]:
    finding = kind.example
    severity = f"{finding.band.value:<8} {finding.severity.score:>4}"
    cells = [
        Cell(severity, OF_BAND[finding.band.value]),
        Cell(plain(title_of(finding, one_line(finding.rule.title))) + _accepted(kind)),
        Cell(str(kind.cards)),
        Cell(plain(kind.example_card)),
    ]
    return [*cells, Cell(finding.rule.id)] if wide else cells


def _accepted(kind: FindingKind) -> str:
    return f" ({share_text(kind.accepted, kind.findings)})" if kind.accepted else ""


def _cards(page: Page, summary: EstateSummary) -> list[str]:
    wide = page.width >= _WIDE
    columns = [Column("card", fit=Fit.CUT_END)]
    if wide:
        columns += [Column("site", fit=Fit.CUT_END), Column("feeds", fit=Fit.CUT_END)]
    columns += [Column("worst"), Column("score", number=True), *_aside(page), *_other_model(page), *_FIGURES]
    cards = [card for card in summary.worst_cards[:_SHOWN_CARDS] if card.findings]
    if not cards:
        return []
    rows = [_card_row(page, assessment, wide=wide) for assessment in cards]
    without = summary.whole.cards_by_worst[Band.NONE]
    note = f"{len(cards)} of {summary.whole.cards - without}; {without} without findings"
    return [page.heading("Worst cards", note), *grid(columns, rows, page.width, page.ink)]


def _other_model(page: Page) -> Sequence[Column]:
    return () if page.run.model is Model.FLAT else (Column(page.run.model.value, number=True),)


def _aside(page: Page) -> Sequence[Column]:
    """Return the column of scores with accepted deviations set aside, where there are any."""
    return (Column("aside", number=True),) if page.run.deviations else ()


def _card_row(page: Page, assessment: CardAssessment, *, wide: bool) -> list[Cell]:
    card = assessment.card
    place = (card.id, card.site or NOT_SAID, card.feeds or NOT_SAID) if wide else (card.id,)
    other = score_of(assessment.results, page.run.model) if page.run.model is not Model.FLAT else None
    figures = [percent_text(assessment.score.percent)]
    figures += [percent_text(accepted_score_of(assessment).percent)] if page.run.deviations else []
    figures += [percent_text(other.percent)] if other else []
    figures += [percent_text(assessment.coverage_percent), *_counts_of(assessment)]
    return [*(Cell(plain(text)) for text in place), _worst(assessment.worst), *map(Cell, figures)]


def _worst(band: Band) -> Cell:
    return Cell(f"{band.value:<8}", OF_BAND[band.value])


def _counts_of(assessment: CardAssessment) -> list[str]:
    bands = [finding.band for finding in assessment.findings]
    return [str(bands.count(band)) for band in _BANDS]


def _shared(page: Page, summary: EstateSummary) -> list[str]:
    if not summary.shared:
        return []
    columns = [Column("severity"), Column("shared by cards", fit=Fit.CUT_END), Column("cards", number=True)]
    columns += [Column("grave loads", number=True), Column("for example", fit=Fit.CUT_END)]
    rows = [_shared_row(row) for row in shared_rows(summary, _SHOWN_SHARED)]
    note = f"{len(rows)} of {len(summary.shared)}"
    return [page.heading(TITLE, note), *grid(columns, rows, page.width, page.ink)]


def _shared_row(row: SharedRow) -> list[Cell]:
    band = row.group.band.value
    severity = Cell(f"{band:<8} {row.group.severity.score:>4}", OF_BAND[band])
    counts = (str(row.group.cards), str(row.group.weighty))
    return [severity, Cell(row.what), *map(Cell, counts), Cell(plain(row.card_ids[0]))]


def _clashes(page: Page, summary: EstateSummary) -> list[str]:
    rows = clash_rows(summary, _SHOWN_SHARED)
    if not rows:
        return []
    columns = [Column("clash"), Column("address"), Column("cards", fit=Fit.CUT_END)]
    cells = [[Cell(row.what), Cell(row.where), Cell(listed(map(plain, row.cards), row.more))] for row in rows]
    note = f"{len(rows)} of {clash_count(summary)}"
    return [page.heading(address_view.TITLE, note), *grid(columns, cells, page.width, page.ink)]


def _groups(page: Page, groups: Mapping[str, Sequence[GroupSum]]) -> list[str]:
    several = {name: members for name, members in groups.items() if len(members) > 1}
    if not several:
        return []
    columns = [Column("group", fit=Fit.CUT_END), Column("cards", number=True), Column("worst")]
    columns += [Column("score", number=True), *_aside(page), *_FIGURES]
    rows = [
        _group_row(page, name, group)
        for name, members in several.items()
        for group in islice(members, _SHOWN_GROUPS)
    ]
    hidden = sum(max(0, len(members) - _SHOWN_GROUPS) for members in several.values())
    note = f"{counted(hidden, 'better group')} not shown" if hidden else ""
    return [page.heading("By site, kind and load", note), *grid(columns, rows, page.width, page.ink)]


def _group_row(page: Page, grouping: str, group: GroupSum) -> list[Cell]:
    name = f"{grouping}: {plain(group.name) or NOT_SAID}"
    figures = [percent_text(group.score.percent)]
    figures += [percent_text(group.accepted_score.percent)] if page.run.deviations else []
    figures.append(percent_text(group.coverage_percent))
    figures += [str(group.findings_by_band[band]) for band in _BANDS]
    return [Cell(name), Cell(str(group.cards)), _worst(group.worst), *map(Cell, figures)]
