"""Drift as a SARIF log: each setting that moved, at its line; cards without a mark; marks not whole."""

import hashlib
from collections.abc import Iterator
from typing import Any

from auditor.change.compare import Kind
from auditor.change.drift import CardDrift, Moved, Standing
from auditor.report.drift_view import Drift, marked_text, moved_line, notes_of, sentence_of
from auditor.report.plain import plain
from auditor.report.result_card import json_text
from auditor.report.sarif import log_end, log_head
from auditor.report.sarif_place import logical, physical, region
from auditor.report.sarif_result import FINGERPRINT
from auditor.report.sarif_rules import plain_descriptor
from auditor.report.writer import Look, Run
from auditor.scoring.locating import CARD_ID, located_at

_RULES = {
    "drift-matters": ("A setting moved since the mark, and an outcome changed with it.", "error"),
    "drift-moved": ("A setting moved since the mark; no outcome changed with it.", "note"),
    "drift-no-mark": ("Nobody approved the card: it has no mark.", "warning"),
    "drift-mark-not-whole": ("A mark is not what was approved, or can't be proved.", "error"),
}


def drift_sarif(drift: Drift, run: Run, look: Look) -> bytes:  # noqa: ARG001 - JSON has one look
    """Return the drift as a SARIF log."""
    further = (plain_descriptor(name, title, level) for name, (title, level) in _RULES.items())
    results = b",\n".join(json_text(result) for card in drift.told for result in _results(card))
    said = {"drift": plain(sentence_of(drift))}
    faults = [fault for found in drift.faults for fault in found]
    return log_head(run, further) + b"\n" + results + log_end(run, faults, len(drift.faults), said)


def _results(card: CardDrift) -> Iterator[dict[str, Any]]:
    whole = {Standing.NO_MARK: "drift-no-mark", Standing.MARK_NOT_WHOLE: "drift-mark-not-whole"}
    if card.standing in whole:
        text = " ".join(filter(None, (marked_text(card), *notes_of(card))))
        yield _result(card, whole[card.standing], CARD_ID, text)
    for moved in card.moves:
        name = "drift-matters" if moved.rules else "drift-moved"
        yield _result(card, name, _place_of(moved), moved_line(moved))


def _place_of(moved: Moved) -> str:
    """Return where a move stands now: of a setting that is gone, what was around it."""
    pointer = moved.move.pointer
    return pointer.rpartition("/")[0] if moved.move.kind is Kind.REMOVED else pointer


def _result(card: CardDrift, rule: str, pointer: str, text: str) -> dict[str, Any]:
    found = located_at(card.record, [pointer]).region(pointer) if card.record else None
    where = physical(card.file, region(found.span) if found else None)
    known = hashlib.sha256(json_text([card.card_id, rule, text])).hexdigest()[:32]
    return {
        "ruleId": rule,
        "level": _RULES[rule][1],
        "message": {"text": plain(f"{card.card_id}: {text}")},
        "locations": [{"physicalLocation": where, "logicalLocations": [logical(card.card_id, pointer)]}],
        "partialFingerprints": {FINGERPRINT: known},
    }
