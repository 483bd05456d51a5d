"""A gate's decision as a SARIF log: each finding with its state against what was there before.

Source: SARIF 2.1.0 (OASIS), section 3.27.24 (baselineState).
"""

import hashlib
from collections.abc import Iterator, Sequence
from typing import Any

from auditor.change.card_change import CardChange
from auditor.change.gate import Cause, Decision, Reason
from auditor.record.pointer import split
from auditor.report.gate_view import EXPLAINED, verdict_sentence, verdict_word
from auditor.report.plain import plain
from auditor.report.result_card import json_text
from auditor.report.sarif import log_end, log_head
from auditor.report.sarif_place import fault_place, logical, physical, region
from auditor.report.sarif_result import FINGERPRINT, card_results
from auditor.report.sarif_rules import plain_descriptor
from auditor.report.writer import Look, Run
from auditor.scoring.identity import Named
from auditor.scoring.locating import located_at

_OWN = (
    Cause.RECORD_UNUSABLE, Cause.EVIDENCE_LOST, Cause.WAY_TO_SWITCH_OFF, Cause.CLEAR_SECRET,
    Cause.CARD_REMOVED, Cause.CARD_RENAMED, Cause.DEVIATION,
)  # fmt: skip
"""Causes that are no finding of a rule: each is a rule of the log."""


def gate_sarif(decision: Decision, run: Run, look: Look) -> bytes:  # noqa: ARG001 - JSON has one look
    """Return the decision as a SARIF log; its cards must be located."""
    known = run.deviations is not None
    results = [result for card in decision.cards for result in _results(card, with_deviations=known)]
    own = list(_own_results(decision))
    results += [{**each, "suppressions": []} for each in own] if known else own
    said = plain(f"{verdict_word(decision)}: {verdict_sentence(decision)}")
    further = (plain_descriptor(f"gate-{cause.value}", EXPLAINED[cause], "error") for cause in _OWN)
    lines = b",\n".join(map(json_text, results))
    return log_head(run, further) + b"\n" + lines + _end(run, decision, said)


def _end(run: Run, decision: Decision, said: str) -> bytes:
    faults = [fault for found in decision.unusable.after for fault in found]
    return log_end(run, faults, len(decision.unusable.after), {"decision": said})


def _results(card: CardChange, *, with_deviations: bool) -> Iterator[dict[str, Any]]:
    if card.after is not None:
        states = _states(card)
        after = card.after.assessment
        found = card_results(after, with_deviations=with_deviations)
        for finding, result in zip(after.findings, found, strict=True):
            yield {**result, "baselineState": states.get(id(finding), "unchanged")}
    if card.before is not None:
        gone = {id(finding) for finding in card.mended}
        before = card.before.assessment
        found = card_results(before, with_deviations=with_deviations)
        for finding, result in zip(before.findings, found, strict=True):
            if id(finding) in gone:
                yield {**_without_place(result), "baselineState": "absent"}


def _states(card: CardChange) -> dict[int, str]:
    """Return the state of each finding of the card as it is now, by its identity in memory."""
    states = {id(finding): "new" for finding in card.new}
    return states | {id(pair.after): "updated" for pair in (*card.worsened, *card.lessened)}


def _without_place(result: dict[str, Any]) -> dict[str, Any]:
    """Return a result whose places are those of a file that is no more: the settings by name only."""
    kept = {name: value for name, value in result.items() if name != "relatedLocations"}
    places = [{"logicalLocations": each["logicalLocations"]} for each in result["locations"]]
    return {**kept, "locations": places}


def _own_results(decision: Decision) -> Iterator[dict[str, Any]]:
    """Yield the reasons that are no finding of a rule: at their settings, or where they are to be mended."""
    own = [reason for reason in decision.reasons if reason.finding is None]
    yield from (_of_no_card(reason) for reason in own if reason.faults)
    for card in decision.cards:
        yield from _of_card([reason for reason in own if reason.card_id == card.card_id], card)


def _of_no_card(reason: Reason) -> dict[str, Any]:
    return _own(reason, reason.text, {"physicalLocation": fault_place(reason.faults[0])})


def _of_card(reasons: Sequence[Reason], card: CardChange) -> Iterator[dict[str, Any]]:
    record = card.after.record if card.after is not None else None
    located = located_at(record, [reason.pointer for reason in reasons]) if record is not None else None
    named = Named(record.settings if record is not None else {})
    for reason in reasons:
        place: dict[str, Any] = {"logicalLocations": [logical(card.card_id, reason.pointer)]}
        if reason.deviation is not None:
            where = {"startLine": reason.deviation.line}
            place["physicalLocation"] = physical(reason.deviation.file, where)
        elif record is not None and located is not None:
            found = located.region(reason.pointer)
            place["physicalLocation"] = physical(record.file, region(found.span) if found else None)
        known = (card.card_id, reason.cause.value, _what(reason), *named.tokens(split(reason.pointer)))
        digest = hashlib.sha256(json_text(known)).hexdigest()[:32]
        yield {
            **_own(reason, f"{card.card_id}: {reason.text}", place),
            "partialFingerprints": {FINGERPRINT: digest},
        }


def _what(reason: Reason) -> str:
    return f"{reason.deviation.rule} {' '.join(reason.deviation.cards)}" if reason.deviation else ""


def _own(reason: Reason, text: str, place: dict[str, Any]) -> dict[str, Any]:
    return {
        "ruleId": f"gate-{reason.cause.value}",
        "level": "error",
        "message": {"text": plain(text)},
        "locations": [place],
        "baselineState": "new",
    }
