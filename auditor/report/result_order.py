"""Whose events can be put in order, in a result document, as ``$defs/site_clocks`` says."""

from math import ceil
from typing import Any, Final

from auditor.fleet.clock_sums import SiteClocks
from auditor.fleet.estate import EstateSummary

_STEPS_A_SECOND: Final = 1000
"""Seconds are told to the millisecond, rounded up: no order is told too soon."""


def order_document(summary: EstateSummary) -> dict[str, Any]:
    """Return the member ``event_order``; nothing where nobody looked at the clocks."""
    if summary.clocks is None:
        return {}
    return {"event_order": [_site(each) for each in summary.clocks]}


def _site(clocks: SiteClocks) -> dict[str, Any]:
    apart = {} if clocks.apart_s is None else {"apart_s": _seconds(clocks.apart_s)}
    return {
        "site": clocks.site,
        "cards": clocks.cards,
        **apart,
        "loosest": [
            {"card": each.card_id, "uncertainty_s": _seconds(each.uncertainty_s)} for each in clocks.loosest
        ],
        "unbounded": clocks.unbounded,
        "unbounded_cards": list(clocks.unbounded_ids),
    }


def _seconds(seconds: float) -> float:
    return ceil(round(seconds * _STEPS_A_SECOND, 6)) / _STEPS_A_SECOND
