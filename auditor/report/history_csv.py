"""A history as CSV: its findings, its sweeps or its cards, one row each, for spreadsheets and databases."""

from typing import BinaryIO

from auditor.history.history import CardStanding, History
from auditor.history.standing import coverage_of, percent_of
from auditor.report.csv_rows import CsvRows
from auditor.report.history_view import BANDS, EVENTS, series_name

FINDING_COLUMNS = (
    "card", "site", "rule", "title", "member", "place", "severity", "band", "outcome", "fate", "fate_since",
    "opened", "last_found", "ended", "age_days", "older_than_known", "times_mended_before", "accepted",
)  # fmt: skip
SWEEP_COLUMNS = (
    "as_of", "part", "id", "tool", "cards_swept", "cards_new", "cards_missed", "records_unusable",
    "estate_cards", "score_percent", "coverage_percent", "worst",
    *(f"{band.value}_findings" for band in BANDS), "accepted_findings",
    *(event.value for event in EVENTS), "held",
)  # fmt: skip
CARD_COLUMNS = (
    "card", "name", "site", "kind", "feeds", "first_seen", "last_seen", "missed", "new", "score_percent",
    "coverage_percent", "worst", "findings", "capture_age_days", "stale", "due", "overdue",
)  # fmt: skip

_DECIMALS = 6


def write_findings(history: History, stream: BinaryIO) -> None:
    """Write a row for each spell of a finding: open ones first, then worst first, then oldest."""
    rows = CsvRows(stream, FINDING_COLUMNS)
    for spell in history.spells:
        finding = spell.finding
        rows.write(
            (
                spell.card, spell.site, finding.rule, spell.title, finding.member, finding.label,
                finding.severity, finding.band.value, finding.outcome.value, spell.fate.value,
                spell.since.isoformat(), spell.opened.isoformat(), spell.last_found.isoformat(),
                spell.ended.isoformat() if spell.ended else "",
                _number(spell.age_days(history.as_of)), _truth(spell.since_before), spell.earlier,
                _truth(finding.accepted),
            )
        )  # fmt: skip


def write_sweeps(history: History, stream: BinaryIO) -> None:
    """Write a row for each sweep, the earliest first."""
    rows = CsvRows(stream, SWEEP_COLUMNS)
    for point in history.points:
        sweep, whole = point.sweep, point.whole
        rows.write(
            (
                sweep.as_of.isoformat(), series_name(sweep, history), sweep.id, sweep.version, point.cards,
                point.new_cards, point.missed_cards, sweep.unusable, whole.cards, _number(whole.percent),
                _number(whole.coverage_percent), whole.worst.value,
                *(whole.findings[band] for band in BANDS), whole.accepted,
                *(point.events.get(event, 0) for event in EVENTS), _truth(sweep.held),
            )
        )  # fmt: skip


def write_cards(history: History, stream: BinaryIO) -> None:
    """Write a row for each card that was ever seen, by its id."""
    rows = CsvRows(stream, CARD_COLUMNS)
    for card in history.cards:
        rows.write(_card(card))


def _card(card: CardStanding) -> tuple[str | float, ...]:
    result = card.result
    return (
        result.card, result.name, result.site, result.kind, result.feeds, card.first_seen.isoformat(),
        card.last_seen.isoformat(), card.missed.isoformat() if card.missed else "", _truth(card.is_new),
        _number(percent_of(result)), _number(coverage_of(result)), result.worst.value, len(result.findings),
        _number(card.capture_age_days), _truth(card.is_stale), card.due.isoformat() if card.due else "",
        _truth(card.is_overdue),
    )  # fmt: skip


def _number(value: float | None) -> float | str:
    return "" if value is None else round(value, _DECIMALS)


def _truth(holds: bool) -> str:  # noqa: FBT001 - the truth itself
    return "true" if holds else "false"
