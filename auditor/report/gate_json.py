"""A gate's decision as one JSON document, ``witnessmark/gate-1``, by ``gate-1.schema.json``."""

from typing import Any

from auditor.change.card_change import CardChange, Judged
from auditor.change.compare import Move
from auditor.change.gate import Decision, Reason, way_text
from auditor.facts.reach.way import Way
from auditor.report.deviation_view import deviation_document
from auditor.report.gate_view import verdict_sentence, verdict_word
from auditor.report.plain import plain
from auditor.report.result_card import finding_document, json_text, safe_file, score_document
from auditor.report.result_head import run_document
from auditor.report.result_summary import fault_document
from auditor.report.writer import Look, Run

SCHEMA = "witnessmark/gate-1"


def gate_json(decision: Decision, run: Run, look: Look) -> bytes:  # noqa: ARG001 - JSON has one look
    """Return the decision as JSON, a line for each card."""
    head = {
        "schema": SCHEMA,
        "run": run_document(run),
        "decision": verdict_word(decision),
        "hold_at": decision.hold_at.value,
        "reason": verdict_sentence(decision),
        "unchanged": decision.unchanged,
        "faults_before": [fault_document(fault) for faults in decision.unusable.before for fault in faults],
        "reasons": [_reason(reason) for reason in decision.reasons],
    }
    cards = b",\n".join(json_text(_card(card)) for card in decision.cards)
    return json_text(head)[:-1] + b',\n"cards":[\n' + cards + b"\n]}\n"


def _reason(reason: Reason) -> dict[str, Any]:
    named = {"card": reason.card_id, "pointer": reason.pointer}
    found = {
        **({"finding": finding_document(reason.finding)} if reason.finding else {}),
        **({"faults": [fault_document(fault) for fault in reason.faults]} if reason.faults else {}),
        **({"deviation": deviation_document(reason.deviation)} if reason.deviation else {}),
    }
    said = {"cause": reason.cause.value, "text": plain(reason.text)}
    return {**said, **{name: value for name, value in named.items() if value}, **found}


def _card(card: CardChange) -> dict[str, Any]:
    sides = {"before": card.before, "after": card.after}
    return {
        "card": card.card_id,
        "state": card.state.value,
        **{name: _side(judged) for name, judged in sides.items() if judged is not None},
        "moves": [move_document(move) for move in card.moves],
        "new": [finding_document(finding) for finding in card.new],
        "worsened": [
            {"before": finding_document(pair.before), "after": finding_document(pair.after)}
            for pair in card.worsened
        ],
        "lessened": [
            {"before": finding_document(pair.before), "after": finding_document(pair.after)}
            for pair in card.lessened
        ],
        "mended": [finding_document(finding) for finding in card.mended],
        "lost": [
            {"rule": lost.rule.id, "pointer": lost.pointer, "was": lost.was.value} for lost in card.lost
        ],
        "gained": [{"rule": found.rule.id, "pointer": found.pointer} for found in card.gained],
        "new_ways": [_way(way) for way in card.new_ways],
        "closed_ways": [_way(way) for way in card.closed_ways],
        "clear_secrets": list(card.clear),
        "no_longer_clear": card.sealed,
    }


def _side(judged: Judged) -> dict[str, Any]:
    assessment = judged.assessment
    accepted = assessment.accepted_score
    return {
        "card": judged.record.card_id,
        "file": safe_file(judged.record.file),
        "line_number": judged.record.line,
        "digest": f"sha256:{judged.record.digest}",
        "score": score_document(assessment.score),
        **({"accepted_score": score_document(accepted)} if accepted else {}),
    }


def move_document(move: Move) -> dict[str, str]:
    """Return a setting that moved, as ``$defs/move`` says."""
    return {
        "kind": move.kind.value,
        "pointer": move.pointer,
        "title": plain(move.title),
        "before": plain(move.before),
        "after": plain(move.after),
    }


def _way(way: Way) -> dict[str, Any]:
    sure = bool(way.is_open and way.switches)
    return {"channel": way.channel.value, "pointer": way.pointer, "says": plain(way_text(way)), "sure": sure}
