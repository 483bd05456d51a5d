"""Everything that the page shows, gathered from a run and its sums. Holds no markup."""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence

from auditor.dataclass import dataclass
from auditor.errors import Fault
from auditor.fleet.clock_sums import SiteClocks
from auditor.fleet.estate import EstateSummary, GroupSum
from auditor.report.address_view import ClashRow, clash_count, clash_rows
from auditor.report.by_control import ControlCards, control_sums
from auditor.report.deviation_view import FaultRow, UseRow, fault_rows, use_rows
from auditor.report.grid import card_row, families_of, group_row
from auditor.report.html.cards import Gap, Sheet, gaps_of, sheets_of
from auditor.report.html.findings import (
    Explained,
    Section,
    explained_rules,
    families_with_findings,
    sections_of,
    unseen_rules,
)
from auditor.report.html.first_things import Thing, easiest_of, first_of, things_of
from auditor.report.html.picture import Drawing, Placed, draw
from auditor.report.html.tables import (
    Catalogue,
    Change,
    Working,
    Workings,
    catalogues_of,
    changes_of,
    environments_of,
    workings_of,
)
from auditor.report.mend_care import FoundTogether
from auditor.report.reach_estate import EstateReach, estate_reach
from auditor.report.reuse_view import SharedRow, left_out, shared_rows
from auditor.report.times_view import OrderRow, order_rows
from auditor.report.verdict import Verdict, unusable_counted, verdict
from auditor.report.writer import Run
from auditor.rules.result import Outcome
from auditor.rules.tailoring import Tailoring
from auditor.scoring.band import Band
from auditor.scoring.environment import Environment

_SITES_DRAWN = 500
_MOST_SITES = 200


@dataclass(frozen=True, slots=True)
class View:
    """What the page shows; the template only places it.

    ``printed`` numbers the rules that print explains, in the order of the page, by id.
    """

    run: Run
    summary: EstateSummary
    families: tuple[str, ...]
    card_drawings: tuple[Drawing, ...]
    site_drawings: tuple[Drawing, ...]
    sections: tuple[Section, ...]
    unseen: tuple[Explained, ...]
    first: tuple[Thing, ...]
    easiest: Thing | None
    printed: Mapping[str, int]
    found_families: tuple[str, ...]
    rules: Mapping[str, Explained]
    sheets: tuple[Sheet, ...]
    gaps: tuple[Gap, ...]
    catalogues: tuple[Catalogue, ...]
    workings: Workings
    changes: tuple[Change, ...]
    environments: tuple[tuple[Environment, str], ...]

    @property
    def whole(self) -> GroupSum:
        """Return the sums over the estate."""
        return self.summary.whole

    @property
    def tailoring(self) -> Tailoring:
        """Return what the site chose."""
        return self.run.program.tailoring

    @property
    def faults(self) -> tuple[Fault, ...]:
        """Return the faults of records that could not be used."""
        return self.summary.faults

    @property
    def unusable(self) -> str:
        """Return how many records, and folders without any, were not audited."""
        return unusable_counted(self.summary)

    @property
    def is_partial(self) -> bool:
        """Return whether some cards are not shown in full."""
        return len(self.sheets) < self.whole.cards

    @property
    def shown_findings(self) -> int:
        """Return how many findings the page lists."""
        return sum(section.number for section in self.sections)

    @property
    def bands(self) -> tuple[Band, ...]:
        """Return the bands to count findings by, worst first; ``none`` only where findings score 0.0."""
        counts = self.whole.findings_by_band
        return tuple(b for b in sorted(Band, reverse=True) if b is not Band.NONE or counts[b])

    @property
    def findings(self) -> int:
        """Return how many findings the estate has."""
        return sum(self.whole.findings_by_band.values())

    def numbers_of(self, rules: Iterable[str]) -> tuple[int, ...]:
        """Return the printed numbers of those rules that fail, ascending."""
        failing = (rule for rule in rules if self.rules[rule].sums.failed)
        return tuple(sorted(self.printed[rule] for rule in failing if rule in self.printed))

    @property
    def unknown_findings(self) -> int:
        """Return how many findings of the estate are unknowns that matter, and not fails."""
        return sum(e.sums.unknown for e in self.rules.values() if e.rule.unknown_matters)

    @property
    def verdict(self) -> Verdict:
        """Return the verdict in words."""
        return verdict(self.summary)

    @property
    def shared(self) -> tuple[SharedRow, ...]:
        """Return the secrets and keys that several cards share, worst first."""
        return shared_rows(self.summary)

    @property
    def shared_left_out(self) -> str:
        """Return how many of them are not shown, in words."""
        return left_out(self.summary)

    @property
    def clashes(self) -> list[ClashRow]:
        """Return the addresses that do not go together, the sure faults first."""
        return clash_rows(self.summary)

    @property
    def clashes_left_out(self) -> int:
        """Return how many of them are not shown."""
        return clash_count(self.summary) - len(self.clashes)

    @property
    def clocks(self) -> tuple[SiteClocks, ...]:
        """Return the clocks of each site with several cards; none where nobody looked."""
        return self.summary.clocks or ()

    @property
    def order(self) -> list[OrderRow]:
        """Return site by site whose events can be put in order; none where nobody looked."""
        return order_rows(self.clocks, _MOST_SITES)

    @property
    def reach(self) -> EstateReach | None:
        """Return who can switch outputs over the estate; None for a single card, which shows its ways."""
        return estate_reach(self.summary)

    @property
    def numbers(self) -> Mapping[str, int]:
        """Return the numbers of the cards shown in full, by id."""
        return {sheet.assessment.card.id: sheet.number for sheet in self.sheets}

    @property
    def accepted(self) -> tuple[UseRow, ...]:
        """Return the deviations that cover a finding."""
        return use_rows(self.summary)

    @property
    def deviation_faults(self) -> tuple[FaultRow, ...]:
        """Return what is wrong with deviations, worst first."""
        return fault_rows(self.summary)

    @property
    def sites(self) -> tuple[str, ...]:
        """Return the sites of the cards shown in full, sorted."""
        return tuple(sorted({sheet.assessment.card.site for sheet in self.sheets}))

    @property
    def quiet_rules(self) -> frozenset[str]:
        """Return the rules that no finding explains: they stand in the table of rules alone."""
        told = {block.explained.rule.id for section in self.sections for block in section.blocks}
        return frozenset(self.rules) - told - {explained.rule.id for explained in self.unseen}

    @property
    def example(self) -> tuple[Explained, Working] | None:
        """Return the worst finding's rule and working, as an example; None without findings."""
        if not self.sections:
            return None
        block = self.sections[0].blocks[0]
        return block.explained, self.workings.of(block.lines[0].finding.severity)

    @property
    def is_tailored(self) -> bool:
        """Return whether the site chose anything that departs from the rulesets."""
        chosen = self.tailoring
        return bool(chosen.parameters or chosen.deselected or chosen.environments or chosen.rules)


def view_of(run: Run, summary: EstateSummary, controls: ControlCards, together: FoundTogether) -> View:
    """Return everything that the page shows."""
    cards, program = summary.worst_cards, run.program
    families = families_of(program.rules)
    rules = explained_rules(run, summary.whole, together)
    sections = sections_of(cards, rules)
    unseen, things = unseen_rules(rules, sections), things_of(sections)
    return View(
        run,
        summary,
        families,
        draw(tuple(_card_rows(summary, families)), families),
        draw(_site_rows(run, summary, families), families),
        sections,
        unseen,
        first_of(things),
        easiest_of(things),
        _numbers(sections, unseen),
        families_with_findings(sections),
        rules,
        sheets_of(run, cards),
        gaps_of(cards),
        catalogues_of(run, control_sums(run, summary, controls), rules),
        workings_of(program, cards),
        changes_of(program),
        tuple(environments_of(program)),
    )


def _card_rows(summary: EstateSummary, families: Sequence[str]) -> Iterator[Placed]:
    """Yield the cards site by site, the site with the lowest score first; worst cards first."""
    by_site: dict[str, list[Placed]] = {}
    for number, card in enumerate(summary.worst_cards):
        site = card.card.site
        unknown = Counter(f.rule.family for f in card.findings if f.outcome is Outcome.UNKNOWN)
        not_known = tuple(unknown[family] for family in families)
        placed = Placed(site or "site not known", number, card_row(card, families), not_known)
        by_site.setdefault(site, []).append(placed)
    for group in summary.groups["site"]:
        yield from by_site.get(group.name, ())


def _site_rows(run: Run, summary: EstateSummary, families: Sequence[str]) -> tuple[Placed, ...]:
    """Return the sites, lowest score first, where the cards alone would not show the estate."""
    if len(summary.worst_cards) == summary.whole.cards:
        return ()
    sites = summary.groups["site"][:_SITES_DRAWN]
    return tuple(
        Placed("", None, group_row(site, run.program, families), _not_known(run, site, families))
        for site in sites
    )


def _not_known(run: Run, site: GroupSum, families: Sequence[str]) -> tuple[int, ...]:
    unknown: Counter[str] = Counter()
    for rule in run.program.rules:
        unknown[rule.family] += site.rules[rule.id].unknown if rule.unknown_matters else 0
    return tuple(unknown[family] for family in families)


def _numbers(sections: Sequence[Section], unseen: Sequence[Explained]) -> dict[str, int]:
    """Return the rules that print explains, numbered in the order in which it does, by id."""
    told = [b.explained for section in sections for b in section.blocks if b.explains]
    return {explained.rule.id: number for number, explained in enumerate((*told, *unseen), start=1)}
