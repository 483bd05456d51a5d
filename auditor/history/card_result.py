"""What a sweep keeps of a card: who it is, its sums, and its findings by identity. Never evidence.

The bytes are the same for the same result, whoever wrote them: their digest is their name.
"""

import hashlib
from collections.abc import Iterable
from typing import Any, NamedTuple

import orjson

from auditor.dataclass import dataclass
from auditor.record.settings import Settings
from auditor.rules.result import Outcome
from auditor.scoring.assessment import CardAssessment
from auditor.scoring.band import Band
from auditor.scoring.identity import identities

_DECIMALS = 6


class FindingKey(NamedTuple):
    """By what a finding is known again on its card: rule id and member, empty for the card."""

    rule: str
    member: str


class KeptFinding(NamedTuple):
    """One finding of one card in one sweep.

    ``label`` names the member for people; ``accepted`` is true where a deviation covers it.
    """

    rule: str
    member: str
    label: str
    outcome: Outcome
    severity: float
    band: Band
    accepted: bool = False

    @property
    def key(self) -> FindingKey:
        """Return by what it is known again on its card."""
        return FindingKey(self.rule, self.member)


@dataclass(frozen=True, slots=True)
class CardResult:
    """What a sweep says of one card; empty text where the record does not say.

    ``points`` of ``maximum`` give the score; ``decided`` of ``counted`` results the coverage.
    ``undecided`` are the results that wait for a setting and are no findings.
    """

    card: str
    name: str
    site: str
    kind: str
    feeds: str
    taken_at: str
    points: float
    maximum: float
    decided: int
    counted: int
    findings: tuple[KeptFinding, ...]
    undecided: tuple[FindingKey, ...]

    @property
    def worst(self) -> Band:
        """Return the band of the worst finding."""
        return max((finding.band for finding in self.findings), default=Band.NONE)


def card_result(assessment: CardAssessment, settings: Settings) -> CardResult:
    """Return what to keep of an assessment; ``settings`` are those that it judges."""
    card, coverage = assessment.card, assessment.coverage
    found = zip(assessment.findings, identities(settings, assessment.findings), strict=True)
    findings = (
        KeptFinding(
            finding.rule.id, known.member, finding.label, finding.outcome,
            float(finding.severity.score), finding.band, finding.deviation is not None,
        )
        for finding, known in found
    )  # fmt: skip
    open_ones = identities(settings, assessment.missing)
    return CardResult(
        card.id, card.name, card.site, card.kind, card.feeds, card.taken_at,
        round(assessment.score.points, _DECIMALS), round(assessment.score.maximum, _DECIMALS),
        coverage.decided, coverage.counted,
        tuple(sorted(findings)), tuple(sorted(FindingKey(one.rule, one.member) for one in open_ones)),
    )  # fmt: skip


_IDENTITY = ("card", "name", "site", "kind", "feeds", "taken_at")
_SUMS = ("points", "maximum", "decided", "counted")


def to_bytes(result: CardResult) -> bytes:
    """Return a result as one line of JSON, always the same for the same result."""
    document = {name: getattr(result, name) for name in (*_IDENTITY, *_SUMS)}
    document["findings"] = [list(finding) for finding in result.findings]
    document["undecided"] = [list(key) for key in result.undecided]
    return orjson.dumps(document, option=orjson.OPT_SORT_KEYS)


def from_bytes(text: bytes) -> CardResult:
    """Return the result that ``to_bytes`` wrote."""
    document: dict[str, Any] = orjson.loads(text)
    findings = tuple(_findings(document.pop("findings")))
    undecided = tuple(FindingKey(*key) for key in document.pop("undecided"))
    return CardResult(**document, findings=findings, undecided=undecided)


def _findings(documents: Iterable[list[Any]]) -> Iterable[KeptFinding]:
    for rule, member, label, outcome, severity, band, accepted in documents:
        yield KeptFinding(rule, member, label, Outcome(outcome), severity, Band(band), accepted)


def digest_of(text: bytes) -> bytes:
    """Return the name of some bytes: their SHA-256, 32 bytes."""
    return hashlib.sha256(text).digest()
