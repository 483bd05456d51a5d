"""Drift as one JSON document, ``witnessmark/drift-1``, by ``drift-1.schema.json``."""

from typing import Any

from auditor.change.drift import CardDrift
from auditor.report.drift_view import Drift, notes_of, sentence_of
from auditor.report.gate_json import move_document
from auditor.report.plain import plain
from auditor.report.result_card import finding_document, json_text, safe_file
from auditor.report.result_head import run_document
from auditor.report.result_summary import fault_document
from auditor.report.writer import Look, Run

SCHEMA = "witnessmark/drift-1"


def drift_json(drift: Drift, run: Run, look: Look) -> bytes:  # noqa: ARG001 - JSON has one look
    """Return the drift as JSON, a line for each card, as marked or not."""
    head = {
        "schema": SCHEMA,
        "run": run_document(run),
        "drifted": drift.is_weighty,
        "reason": sentence_of(drift),
        "faults": [fault_document(fault) for faults in drift.faults for fault in faults],
        "marks_without_record": [plain(name) for name in drift.unheld],
    }
    cards = b",\n".join(json_text(_card(card)) for card in drift.cards)
    return json_text(head)[:-1] + b',\n"cards":[\n' + cards + b"\n]}\n"


def _card(card: CardDrift) -> dict[str, Any]:
    change = card.change
    return {
        "card": card.card_id,
        "file": safe_file(card.file),
        "standing": card.standing.value,
        **_mark(card),
        "moves": [{**move_document(each.move), "outcomes": list(each.rules)} for each in card.moves],
        "outcomes": list(card.outcomes),
        "new": [finding_document(finding) for finding in change.new] if change else [],
        "mended": [finding_document(finding) for finding in change.mended] if change else [],
        "not_comparable": card.not_comparable,
        "notes": [plain(note) for note in notes_of(card)],
    }


def _mark(card: CardDrift) -> dict[str, Any]:
    mark = card.mark
    if mark is None:
        return {}
    said = {"file": safe_file(mark.file), "by": plain(mark.by), "at": mark.at, "seal": mark.seal.value}
    return {"mark": {**said, "rulesets": [plain(each) for each in mark.rulesets]}}
