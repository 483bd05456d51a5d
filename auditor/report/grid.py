"""The estate's picture as data: rows of cards or sites, columns of rule families. Draws nothing."""

from collections.abc import Iterable, Mapping, Sequence
from functools import cache

from auditor.dataclass import dataclass
from auditor.fleet.estate import GroupSum
from auditor.rules.program import Program
from auditor.rules.rule import Rule
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.band import Band, band_of
from auditor.scoring.ccss import base_score


@dataclass(frozen=True, slots=True)
class Cell:
    """What a family says of a card or a site.

    ``worst`` is the band of its worst finding (``none`` without findings), ``unknown`` the
    number of undecided results that are not findings. ``results`` counts the results that
    apply, passes too; it is 0 where no rule of the family applies.
    """

    worst: Band
    findings: int
    unknown: int
    results: int


@dataclass(frozen=True, slots=True)
class Row:
    """One row: a card or a site, with one cell a family."""

    name: str
    cells: tuple[Cell, ...]


def families_of(rules: Iterable[Rule]) -> tuple[str, ...]:
    """Return the families, in the order in which the rules first name them."""
    return tuple(dict.fromkeys(rule.family for rule in rules))


def card_row(assessment: CardAssessment, families: Sequence[str]) -> Row:
    """Return the row of a card."""
    tallies = {family: _Tally() for family in families}
    for result in assessment.results:
        tallies[result.rule.family].results += result.counted
    for finding in assessment.findings:
        tallies[finding.rule.family].add(finding.band, 1)
    for missing in assessment.missing:
        tallies[missing.rule.family].unknown += 1
    return Row(assessment.card.id, _cells(tallies))


def group_row(group: GroupSum, program: Program, families: Sequence[str]) -> Row:
    """Return the row of a group, over every card of it.

    Bands are those of base scores: sums keep no severities, and a group may feed several loads.
    """
    tallies = {family: _Tally() for family in families}
    for rule in program.rules:
        counts, tally = group.rules[rule.id], tallies[rule.family]
        found = counts.failed + (counts.unknown if rule.unknown_matters else 0)
        tally.results += counts.passed + counts.failed + counts.unknown
        tally.unknown += 0 if rule.unknown_matters else counts.unknown
        if found:
            tally.add(base_band(rule), found)
    return Row(group.name, _cells(tallies))


@cache
def base_band(rule: Rule) -> Band:
    """Return the band of a rule's base score."""
    return band_of(base_score(rule.vector).score)


@dataclass(slots=True)
class _Tally:
    """The sums of one cell while results come in."""

    worst: Band = Band.NONE
    findings: int = 0
    unknown: int = 0
    results: int = 0

    def add(self, band: Band, count: int) -> None:
        self.findings += count
        self.worst = max(self.worst, band)


def _cells(tallies: Mapping[str, _Tally]) -> tuple[Cell, ...]:
    return tuple(Cell(t.worst, t.findings, t.unknown, t.results) for t in tallies.values())
