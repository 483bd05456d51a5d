"""A gate's decision as a SARIF log: each finding with its state against what was there before.

Source: SARIF 2.1.0 (OASIS), section 3.27.24 (baselineState).
"""

from collections.abc import Iterator
from typing import Any

from auditor.change.card_change import CardChange
from auditor.change.gate import Cause, Decision, Reason
from auditor.report.gate_view import EXPLAINED, verdict_sentence, verdict_word
from auditor.report.plain import plain
from auditor.report.result_card import json_text
from auditor.report.sarif import log_end, log_head
from auditor.report.sarif_place import logical, physical, region
from auditor.report.sarif_result import card_results
from auditor.report.sarif_rules import plain_descriptor
from auditor.report.writer import Look, Run

_OWN = (
    Cause.EVIDENCE_LOST, Cause.WAY_TO_SWITCH_OFF, Cause.CLEAR_SECRET, Cause.CARD_REMOVED,
    Cause.CARD_RENAMED, Cause.DEVIATION,
)  # fmt: skip
"""Causes that are no finding of a rule: each is a rule of the log."""


def gate_sarif(decision: Decision, run: Run, look: Look) -> bytes:  # noqa: ARG001 - JSON has one look
    """Return the decision as a SARIF log; its cards must be located."""
    known = run.deviations is not None
    results = [result for card in decision.cards for result in _results(card, with_deviations=known)]
    own = [_own(reason, decision) for reason in decision.reasons if reason.finding is None]
    results += [{**each, "suppressions": []} for each in own] if known else own
    said = plain(f"{verdict_word(decision)}: {verdict_sentence(decision)}")
    further = (plain_descriptor(f"gate-{cause.value}", EXPLAINED[cause], "error") for cause in _OWN)
    lines = b",\n".join(map(json_text, results))
    return log_head(run, further) + b"\n" + lines + log_end(run, (), 0, {"decision": said})


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


def _own(reason: Reason, decision: Decision) -> dict[str, Any]:
    card = next((each for each in decision.cards if each.card_id == reason.card_id), None)
    place: dict[str, Any] = {"logicalLocations": [logical(reason.card_id, reason.pointer)]}
    if card is not None and card.after is not None:
        assessment = card.after.assessment
        found = assessment.located.region(reason.pointer) if assessment.located else None
        place["physicalLocation"] = physical(assessment.file, region(found.span) if found else None)
    text = plain(f"{reason.card_id}: {reason.text}" if reason.card_id else reason.text)
    return {
        "ruleId": f"gate-{reason.cause.value}",
        "level": "error",
        "message": {"text": text},
        "locations": [place],
        "baselineState": "new",
    }
