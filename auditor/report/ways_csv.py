"""The ways in as CSV: one row a way, for spreadsheets and databases."""

from typing import BinaryIO

from auditor.facts.reach.way import Truth3, Way
from auditor.fleet.estate import EstateSummary
from auditor.report.csv_rows import CsvRows
from auditor.report.reach_view import reach_of
from auditor.report.way_words import allowed_words
from auditor.report.writer import Look, Run
from auditor.scoring.assessment import CardAssessment

COLUMNS = (
    "card", "site", "kind", "feeds", "allows", "minimal", "channel", "party", "role", "proof",
    "proof_easiest", "proof_hardest", "in_clear", "open", "switches", "configures", "reads", "place",
    "any_address", "prefixes", "ipv4_addresses", "ipv6_addresses", "globally_routable", "condition",
    "confirmation", "pointer", "file", "record_line",
)  # fmt: skip

_TRUTHS = {True: "yes", False: "no", None: "unknown"}


class WaysCsv:
    """Writes a row for each way as the cards come."""

    def __init__(self, stream: BinaryIO) -> None:
        """Write the names of the columns."""
        self._rows = CsvRows(stream, COLUMNS)

    def add(self, assessment: CardAssessment) -> None:
        """Write the ways in to one card, the gravest first."""
        card, reach = assessment.card, reach_of(assessment)
        for way, is_minimal in reach.ways if reach else ():
            cells = (card.id, card.site, card.kind, card.feeds, *_way(way, is_minimal=is_minimal))
            self._rows.write((*cells, assessment.file, assessment.line))

    def finish(self, summary: EstateSummary) -> None:
        """Write nothing: sums are no ways."""


def _way(way: Way, *, is_minimal: bool) -> tuple[str, ...]:
    origin = way.origin
    return (
        allowed_words(way),
        _TRUTHS[is_minimal],
        way.channel.value,
        way.party,
        way.role,
        way.proof.value,
        way.grade.easiest.value,
        way.grade.hardest.value,
        *map(_truth, (way.in_clear, way.is_open, way.switches, way.configures, way.reads)),
        origin.place.name.lower(),
        _truth(origin.any_address),
        " ".join(origin.prefixes or ()),
        _count(origin.ipv4_addresses),
        _count(origin.ipv6_addresses),
        _truth(origin.is_globally_routable),
        way.condition,
        _truth(way.confirmation),
        way.pointer,
    )


def _truth(truth: Truth3) -> str:
    return _TRUTHS[truth]


def _count(addresses: int | None) -> str:
    """Return a count as text: a spreadsheet would round one of IPv6."""
    return "unknown" if addresses is None else str(addresses)


def make_ways_csv(run: Run, stream: BinaryIO, look: Look) -> WaysCsv:  # noqa: ARG001 - one look only
    """Return a writer of the ways in as CSV."""
    return WaysCsv(stream)
