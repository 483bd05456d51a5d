"""The ways in to a card in a result document, as ``$defs/way`` of ``result-1.schema.json`` says."""

from typing import Any, Final

import orjson

from auditor.facts.reach.way import Origin, Proof, Way
from auditor.fleet.estate import EstateSummary
from auditor.fleet.reach_sums import EasiestCard, From
from auditor.report.reach_view import reach_of
from auditor.scoring.assessment import CardAssessment

_EXACT: Final = 1 << 53
"""Up to here every reader of JSON has whole numbers exactly. Source: RFC 8259 section 6."""


def way_documents(assessment: CardAssessment) -> list[dict[str, Any]]:
    """Return every way in to a card, the gravest first."""
    reach = reach_of(assessment)
    return [_document(way, is_minimal=is_minimal) for way, is_minimal in reach.ways] if reach else []


def reach_document(summary: EstateSummary) -> dict[str, Any]:
    """Return who can switch outputs over the estate, as ``$defs/reach`` says; empty where nobody asked."""
    reach = summary.reach
    if reach is None:
        return {}
    return {
        "reach": {
            "cards_by_easiest": [
                {"proof": proof.value, "from": place.value, "cards": cards}
                for proof in Proof
                for place in From
                if (cards := reach.number((proof,), (place,)))
            ],
            "cards_unsure": reach.unsure,
            "cards_closed": reach.closed,
            "easiest": [_easiest(each) for each in reach.easiest],
            "changes": [change._asdict() for change in reach.changes],
        }
    }


def _easiest(each: EasiestCard) -> dict[str, Any]:
    return {
        "card": each.card.id,
        "switching_ways": each.ways,
        "pointer": each.way.pointer,
        "channel": each.way.channel.value,
        "party": each.way.party,
        "proof": each.way.proof.value,
        "origin": _origin(each.way.origin),
    }


def _document(way: Way, *, is_minimal: bool) -> dict[str, Any]:
    named = {"role": way.role, "condition": way.condition}
    return {
        "pointer": way.pointer,
        "channel": way.channel.value,
        "party": way.party,
        **{name: value for name, value in named.items() if value},
        "open": way.is_open,
        "proof": way.proof.value,
        "proof_easiest": way.grade.easiest.value,
        "proof_hardest": way.grade.hardest.value,
        "proof_at": way.proof_at,
        "in_clear": way.in_clear,
        "origin": _origin(way.origin),
        "allows": {"switches": way.switches, "configures": way.configures, "reads": way.reads},
        "confirmation": way.confirmation,
        "minimal": is_minimal,
    }


def _origin(origin: Origin) -> dict[str, Any]:
    return {
        "place": origin.place.name.lower(),
        "any_address": origin.any_address,
        "prefixes": origin.prefixes if origin.prefixes is None else list(origin.prefixes),
        "ipv4_addresses": origin.ipv4_addresses,
        "ipv6_addresses": _number(origin.ipv6_addresses),
        "globally_routable": origin.is_globally_routable,
    }


def _number(count: int | None) -> Any:  # noqa: ANN401 - a number, as text where it is a large one
    """Return a count as JSON: digits beyond 64 bits are what orjson does not write by itself."""
    return count if count is None or count < _EXACT else orjson.Fragment(str(count))
