"""What one recovered secret opens, in words and rows for every report. Holds no format."""

from collections.abc import Iterator
from typing import Any

from auditor.dataclass import dataclass
from auditor.fleet.estate import EstateSummary
from auditor.report.verdict import counted
from auditor.scoring.shared_secret import SharedSecret

TITLE = "What one recovered secret opens"
INTRODUCTION = (
    "Each row is one secret or key that several cards share. Whoever recovers it from the weakest of these "
    "cards, from a backup or from the line has it for all of them."
)
MOST_GROUPS = 100
"""So many groups are shown for people; the formats json and ndjson hold them all."""

_FORMS = {
    "clear": "the same secret",
    "tag": "the same sealed tag",
    "crypt": "the same hash, salt included",
    "localized": "the same localized key",
    "passphrase": "localized keys of the same well-known passphrase",
    "fingerprint": "the same fingerprint",
}


@dataclass(frozen=True, slots=True)
class SharedRow:
    """One group in words: what is shared, what it opens, on how many cards, and which loads."""

    group: SharedSecret
    what: str
    seen: str
    opens: str
    because: str
    cards: str
    loads: str
    card_ids: tuple[str, ...]
    more: int


def shared_rows(summary: EstateSummary, most: int = MOST_GROUPS) -> tuple[SharedRow, ...]:
    """Return the worst groups of an estate, at most so many."""
    return tuple(_row(group) for group in summary.shared[:most])


def _row(group: SharedSecret) -> SharedRow:
    named = group.weighty_ids + tuple(name for name in group.card_ids if name not in group.weighty_ids)
    ids = named[: max(len(group.card_ids), 1)]
    return SharedRow(
        group,
        group.what.title,
        _FORMS[group.form],
        group.what.opens,
        group.what.because,
        counted(group.cards, "card"),
        ", ".join(_loads(group)),
        ids,
        group.cards - len(ids),
    )


def _loads(group: SharedSecret) -> Iterator[str]:
    """Yield how many cards feed each load, the gravest first."""
    order = ("life_safety", "critical", "production", "office", "lab", "")
    known = sorted(group.feeds, key=lambda feeds: order.index(feeds) if feeds in order else len(order))
    for feeds in known:
        yield f"{group.feeds[feeds]} {feeds.replace('_', ' ') or 'not known'}"


def left_out(summary: EstateSummary, most: int = MOST_GROUPS) -> str:
    """Return how many groups are not shown, in words; empty where all are."""
    more = len(summary.shared) - most
    return (
        f"… and {counted(more, 'more group')}; the formats json and ndjson hold them all." if more > 0 else ""
    )


def shared_document(group: SharedSecret) -> dict[str, Any]:
    """Return a group as ``$defs/shared`` of ``result-1.schema.json`` says."""
    return {
        "kind": group.kind,
        "form": group.form,
        "cards": group.cards,
        "feeds": {feeds or "unknown": count for feeds, count in group.feeds.items()},
        "card_ids": list(group.card_ids),
        "weighty_card_ids": list(group.weighty_ids),
        "severity": float(group.severity.score),
        "band": group.band.value,
        "vector": group.severity.vector,
        "opens": group.what.opens,
        "because": group.what.because,
    }
