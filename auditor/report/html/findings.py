"""Findings for the page: by severity, then by rule; each rule explained once. Holds no markup."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from auditor.fleet.estate import GroupSum, RuleSum
from auditor.report.condition_text import condition_lines
from auditor.report.html.cards import settings_to_capture
from auditor.report.html.wording import count
from auditor.report.mend_care import FoundTogether, care_of
from auditor.report.writer import Run
from auditor.rules.result import Outcome
from auditor.rules.rule import Rule
from auditor.scoring.assessment import CardAssessment, Finding
from auditor.scoring.band import Band


@dataclass(frozen=True, slots=True)
class Control:
    """A control that a rule serves, by the crosswalk that says so."""

    crosswalk: str
    id: str
    title: str


@dataclass(frozen=True, slots=True)
class Explained:
    """A rule with all that the page says of it besides its findings.

    ``before`` names the rules to mend first that were found on a card with this one, and ``visit``
    says what mending means for a visit, in sentences.
    """

    number: int
    rule: Rule
    sums: RuleSum
    asks: tuple[str, ...]
    applies: tuple[str, ...]
    controls: tuple[Control, ...]
    before: tuple[str, ...]
    visit: tuple[str, ...]

    @property
    def anchor(self) -> str:
        """Return the id of the place where the rule is explained; short, for thousands link to it."""
        return f"r{self.number}"


@dataclass(frozen=True, slots=True)
class Line:
    """One finding: its card by number, and the finding."""

    card: int
    finding: Finding

    @property
    def place(self) -> str:
        """Return the member that the finding is about, for people; empty for the card."""
        return self.finding.label

    @property
    def note(self) -> str:
        """Return what kept the finding from being judged, empty for a fail and an unknown."""
        is_error = self.finding.outcome is Outcome.ERROR
        return f"could not be judged: {self.finding.message}" if is_error else ""

    @property
    def is_unknown(self) -> bool:
        """Return whether nobody captured what the finding is about: there is nothing to mend yet."""
        return self.finding.outcome is Outcome.UNKNOWN


@dataclass(frozen=True, slots=True)
class Block:
    """The findings of one rule in one band; ``explains`` in the first block of the rule.

    ``capture`` names the settings that the rule's findings wait for, in all bands; empty where
    every one is a fail.
    """

    explained: Explained
    explains: bool
    lines: tuple[Line, ...]
    highest: Decimal
    capture: tuple[str, ...]

    @property
    def cards(self) -> int:
        """Return how many cards the findings are on."""
        return len({line.card for line in self.lines})

    @property
    def size(self) -> str:
        """Return how many findings on how many cards, and how many are not known, or accepted."""
        unknown = sum(line.is_unknown for line in self.lines)
        apart = f", {unknown:,} not known" if unknown and not self.is_unknown else ""
        covered = sum(line.finding.deviation is not None for line in self.lines)
        accepted = f", {covered:,} accepted" if covered else ""
        return f"{count(len(self.lines), 'finding')} on {count(self.cards, 'card')}{apart}{accepted}"

    @property
    def is_unknown(self) -> bool:
        """Return whether no finding of the block is a fail: all are not known."""
        return all(line.is_unknown for line in self.lines)


@dataclass(frozen=True, slots=True)
class Section:
    """The findings of one band, the rule with the highest severity first."""

    band: Band
    blocks: tuple[Block, ...]
    number: int


def explained_rules(run: Run, whole: GroupSum, together: FoundTogether) -> Mapping[str, Explained]:
    """Return every rule of the program, explained, by id."""
    units = {name: parameter.unit for name, parameter in run.program.parameters.items()}
    units.update({name: fact.unit for name, fact in run.program.facts.items()})
    return {
        rule.id: _explained((number, rule), run, whole.rules[rule.id], units, together)
        for number, rule in enumerate(run.program.rules)
    }


def sections_of(cards: Sequence[CardAssessment], rules: Mapping[str, Explained]) -> tuple[Section, ...]:
    """Return the findings of the cards by band, worst band first, without empty bands."""
    lines: dict[tuple[Band, str], list[Line]] = {}
    for number, card in enumerate(cards):
        for finding in card.findings:
            lines.setdefault((finding.band, finding.rule.id), []).append(Line(number, finding))
    first: dict[str, Band] = {}
    for band, rule in sorted(lines, key=_worst_band_first):
        first.setdefault(rule, band)
    capture = _captures(lines)
    blocks = [
        _block(rules[rule], found, explains=first[rule] is band, capture=capture[rule])
        for (band, rule), found in lines.items()
    ]
    return tuple(_sections(blocks))


def unseen_rules(rules: Mapping[str, Explained], sections: Iterable[Section]) -> tuple[Explained, ...]:
    """Return the rules that fail, but on none of the cards that are shown in full."""
    seen = {block.explained.rule.id for section in sections for block in section.blocks}
    return tuple(
        explained
        for name, explained in rules.items()
        if name not in seen
        and (explained.sums.failed or (explained.rule.unknown_matters and explained.sums.unknown))
    )


def families_with_findings(sections: Iterable[Section]) -> tuple[str, ...]:
    """Return the families that have findings, sorted."""
    return tuple(sorted({b.explained.rule.family for section in sections for b in section.blocks}))


def _explained(
    numbered: tuple[int, Rule], run: Run, sums: RuleSum, units: dict[str, str], together: FoundTogether
) -> Explained:
    number, rule = numbered
    applies = () if rule.applies_when is None else tuple(condition_lines(rule.applies_when, units))
    asks = tuple(condition_lines(rule.require, units))
    controls = tuple(_controls(rule, run))
    before, care = together.before(rule), care_of(rule, together)
    return Explained(number, rule, sums, asks, applies, controls, before, care)


def _controls(rule: Rule, run: Run) -> Iterator[Control]:
    for crosswalk in run.crosswalks:
        for name in crosswalk.rules.get(rule.id, ()):
            yield Control(crosswalk.title, name, crosswalk.controls[name])


def _worst_band_first(key: tuple[Band, str]) -> int:
    return -key[0].rank


def _captures(lines: Mapping[tuple[Band, str], Sequence[Line]]) -> dict[str, tuple[str, ...]]:
    findings: dict[str, list[Finding]] = {}
    for (_, rule), found in lines.items():
        findings.setdefault(rule, []).extend(line.finding for line in found)
    return {rule: settings_to_capture(found) for rule, found in findings.items()}


def _block(explained: Explained, lines: Sequence[Line], *, explains: bool, capture: tuple[str, ...]) -> Block:
    ordered = sorted(lines, key=_highest_first)
    return Block(explained, explains, tuple(ordered), ordered[0].finding.severity.score, capture)


def _highest_first(line: Line) -> tuple[Decimal, int, str]:
    return (-line.finding.severity.score, line.card, line.finding.pointer)


def _sections(blocks: Sequence[Block]) -> Iterator[Section]:
    by_band: dict[Band, list[Block]] = {}
    for block in sorted(blocks, key=_worst_rule_first):
        by_band.setdefault(block.lines[0].finding.band, []).append(block)
    sizes: Counter[Band] = Counter()
    for block in blocks:
        sizes[block.lines[0].finding.band] += len(block.lines)
    for band in sorted(by_band, reverse=True):
        yield Section(band, tuple(by_band[band]), sizes[band])


def _worst_rule_first(block: Block) -> tuple[Decimal, int, str]:
    return (-block.highest, -len(block.lines), block.explained.rule.id)
