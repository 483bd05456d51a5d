"""A history as one JSON document, ``witnessmark/history-1``; its schema is ``history-1.schema.json``."""

from collections.abc import Iterable, Mapping
from typing import Any, BinaryIO

from auditor.history.card_result import CardResult
from auditor.history.chronicle import SweepPoint
from auditor.history.history import CardStanding, DeviationStanding, History, SeriesStanding
from auditor.history.spell import Spell
from auditor.history.standing import Standing, coverage_of, percent_of
from auditor.history.survival import Survival
from auditor.report.history_view import EVENTS
from auditor.report.result_card import json_text
from auditor.scoring.band import Band

SCHEMA = "witnessmark/history-1"
_DECIMALS = 6


def write_history(history: History, stream: BinaryIO) -> None:
    """Write the document, a line for each sweep, card and finding."""
    head = json_text({"schema": SCHEMA, "as_of": history.as_of.isoformat()})
    stream.write(head[:-1])
    _write_list(stream, "series", map(_series, history.series))
    _write_list(stream, "sweeps", map(_sweep, history.points))
    _write_list(stream, "cards", map(_card, history.cards))
    _write_list(stream, "findings", (_finding(spell, history) for spell in history.spells))
    _write_list(stream, "deviations", map(_deviation, history.deviations))
    mending = {band.value: _survival(each) for band, each in history.mending.items()}
    stream.write(b',\n"time_to_mend":' + json_text({"all": _survival(history.mending_of_all), **mending}))
    stream.write(b"}\n")


def _write_list(stream: BinaryIO, name: str, documents: Iterable[Mapping[str, Any]]) -> None:
    stream.write(f',\n"{name}":['.encode())
    between = b"\n"
    for document in documents:
        stream.write(between + json_text(document))
        between = b",\n"
    stream.write(b"\n]")


def _series(each: SeriesStanding) -> dict[str, Any]:
    return {
        "origin": each.series.origin,
        "part": each.series.part,
        "sweeps": each.sweeps,
        "last_sweep": each.last.as_of.isoformat(),
        "every_days": each.last.every_days,
        "due": each.due.isoformat() if each.due else None,
        "overdue": each.is_overdue,
    }


def _sweep(point: SweepPoint) -> dict[str, Any]:
    sweep = point.sweep
    return {
        "id": sweep.id,
        "origin": sweep.origin,
        "part": sweep.part,
        "as_of": sweep.as_of.isoformat(),
        "tool": sweep.version,
        "operator": sweep.operator,
        "rulesets": list(sweep.rulesets),
        "hold_at": sweep.hold_at.value,
        "held": sweep.held,
        "cards": point.cards,
        "new_cards": point.new_cards,
        "missed_cards": point.missed_cards,
        "unusable_records": sweep.unusable,
        "events": {event.value: point.events.get(event, 0) for event in EVENTS},
        "estate": _standing(point.whole),
        "groups": {
            grouping: {name or "not said": _standing(group) for name, group in members.items()}
            for grouping, members in point.groups.items()
        },
        "shared": [{"kind": s.kind, "band": s.band.value, "cards": s.cards} for s in sweep.shared],
    }


def _standing(standing: Standing) -> dict[str, Any]:
    return {
        "cards": standing.cards,
        "score_percent": _number(standing.percent),
        "coverage_percent": _number(standing.coverage_percent),
        "worst": standing.worst.value,
        "findings": {band.value: count for band, count in standing.findings.items() if band is not Band.NONE},
        "accepted_findings": standing.accepted,
    }


def _card(card: CardStanding) -> dict[str, Any]:
    result = card.result
    named = {name: getattr(result, name) for name in ("name", "site", "kind", "feeds")}
    return {
        "card": result.card,
        **{name: value for name, value in named.items() if value},
        "first_seen": card.first_seen.isoformat(),
        "last_seen": card.last_seen.isoformat(),
        "missed": card.missed.isoformat() if card.missed else None,
        "new": card.is_new,
        "capture_age_days": _number(card.capture_age_days),
        "stale": card.is_stale,
        "due": card.due.isoformat() if card.due else None,
        "overdue": card.is_overdue,
        "trend": [{"as_of": moment.isoformat(), **_result(each)} for moment, each in card.trend],
    }


def _result(result: CardResult) -> dict[str, Any]:
    return {
        "score_percent": _number(percent_of(result)),
        "coverage_percent": _number(coverage_of(result)),
        "worst": result.worst.value,
        "findings": len(result.findings),
    }


def _finding(spell: Spell, history: History) -> dict[str, Any]:
    finding = spell.finding
    return {
        "card": spell.card,
        "rule": finding.rule,
        "title": spell.title,
        "member": finding.member,
        "label": finding.label,
        "severity": finding.severity,
        "band": finding.band.value,
        "outcome": finding.outcome.value,
        "accepted": finding.accepted,
        "fate": spell.fate.value,
        "fate_since": spell.since.isoformat(),
        "opened": spell.opened.isoformat(),
        "last_found": spell.last_found.isoformat(),
        "ended": spell.ended.isoformat() if spell.ended else None,
        "age_days": _number(spell.age_days(history.as_of)),
        "older_than_known": spell.since_before,
        "times_mended_before": spell.earlier,
    }


def _survival(survival: Survival) -> dict[str, Any]:
    return {
        "findings": survival.findings,
        "mended": survival.mended,
        "not_mended": survival.open,
        "median_days": _number(survival.median_days),
        "still_open": [
            {"days": _number(step.days), "share": _number(step.open_share)} for step in survival.steps
        ],
    }


def _deviation(standing: DeviationStanding) -> dict[str, Any]:
    deviation = standing.deviation
    return {
        "rule": deviation.rule,
        "cards": list(deviation.cards),
        "member": deviation.member,
        "owner": deviation.owner,
        "ticket": deviation.ticket,
        "expires": deviation.expires.isoformat(),
        "days_left": standing.days_left,
        "near_its_end": standing.is_near,
        "findings": deviation.findings,
    }


def _number(value: float | None) -> float | None:
    return None if value is None else round(value, _DECIMALS)
