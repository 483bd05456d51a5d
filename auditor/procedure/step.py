"""One step of a visit: the findings that one piece of work mends, and what the work asks for."""

from collections.abc import Iterable, Sequence
from typing import Final

from auditor.dataclass import dataclass, field
from auditor.procedure.bench import Bench
from auditor.procedure.edit import Edit, edited
from auditor.procedure.mending import edits_for, has_mend, unknown_after
from auditor.record.pointer import split, value_at
from auditor.record.settings import Settings
from auditor.rules.condition import Scope
from auditor.rules.evaluating import evaluate, evaluate_members
from auditor.rules.rule import Rule, Visit
from auditor.scoring.assessment import Finding
from auditor.scoring.deviation import Deviation

USUAL_MINUTES: Final = 5
"""Minutes at the card for a step of which its rules say nothing; common practice, no source."""

NO_VISIT: Final = Visit()


@dataclass(frozen=True, slots=True)
class Step:
    """The findings of one card that one piece of work mends, and how it is placed in a visit.

    ``id`` is unique on the card. ``recipes`` are ways of mending that no finding asked for, in a
    step that opens another way in. ``is_ordered`` is false where a rule says nothing of visits.
    ``severity`` is that of the worst finding, ``risk`` the sum of all, 0.0 for none.
    """

    id: str
    work: str
    member: tuple[str, ...]
    findings: tuple[Finding, ...]
    recipes: tuple[str, ...] = ()
    is_consequence: bool = False
    visit: Visit = field(default=NO_VISIT)
    is_ordered: bool = True

    @property
    def rules(self) -> tuple[Rule, ...]:
        """Return the rules of the findings, each once, in their order."""
        return tuple(dict.fromkeys(finding.rule for finding in self.findings))

    @property
    def rule_ids(self) -> frozenset[str]:
        """Return the ids of the rules."""
        return frozenset(finding.rule.id for finding in self.findings)

    @property
    def severity(self) -> float:
        """Return the severity of the worst finding, 0.0 to 10.0."""
        return max((float(finding.severity.score) for finding in self.findings), default=0.0)

    @property
    def risk(self) -> float:
        """Return the sum of the severities: what a visit measures its minutes against."""
        return sum(float(finding.severity.score) for finding in self.findings)

    @property
    def minutes(self) -> int:
        """Return the minutes at the card, without restarts."""
        return self.visit.minutes or USUAL_MINUTES

    def edits(self, record: Settings, bench: Bench) -> tuple[Edit, ...]:
        """Return the changes that the step makes to a record as it then is, each setting once."""
        return self.work_on(record, bench).edits

    def work_on(self, record: Settings, bench: Bench) -> "Work":
        """Return what the step does to a record as it then is.

        What is turned off comes first, and a finding that is gone by then asks for no more: nobody
        sets up what is turned off in the same breath.
        """
        found: dict[tuple[str, ...], Edit] = {}
        needed: list[Finding] = []
        for recipe in self.recipes:
            from auditor.procedure.recipe.catalogue import RECIPES

            found.update((edit.tokens, edit) for edit in bench.allowed(RECIPES[recipe](record, (), bench)))
        now = edited(record, found.values())
        for finding in _offs_first(self.findings, record, bench):
            if any(_mends_alike(finding, other) for other in needed):
                needed.append(finding)
            elif not needed or departs(finding, now, bench):
                made = _edits_of(finding, now, bench)
                needed.append(finding)
                found.update((edit.tokens, edit) for edit in made)
                now = edited(now, made)
        return Work(tuple(found.values()), tuple(needed))


@dataclass(frozen=True, slots=True)
class Work:
    """What a step does to a record; ``needed`` are the findings that ask for it, in their order."""

    edits: tuple[Edit, ...]
    needed: tuple[Finding, ...]


def place_of(finding: Finding) -> tuple[str, ...]:
    """Return the tokens of the member that a finding is about; none for the card."""
    return split(finding.pointer) if finding.rule.for_each else ()


def key_of(finding: Finding) -> tuple[str, str]:
    """Return what tells a finding from the others of its card: rule and member."""
    return finding.rule.id, finding.pointer if finding.rule.for_each else ""


def steps_of(findings: Iterable[Finding], *, consequences: Iterable[Finding] = ()) -> tuple[Step, ...]:
    """Group findings into steps: those of one work at one place are one step.

    ``consequences`` are findings that only the mends of others bring about.
    """
    groups: dict[tuple[str, tuple[str, ...]], list[Finding]] = {}
    late = {key_of(finding) for finding in consequences}
    for finding in (*findings, *consequences):
        visit = finding.rule.visit
        groups.setdefault(((visit and visit.work) or finding.rule.id, place_of(finding)), []).append(finding)
    return tuple(
        _step(work, member, found, is_consequence=all(key_of(each) in late for each in found))
        for (work, member), found in groups.items()
    )


def opening_step(recipe: str, visit: Visit) -> Step:
    """Return the step that opens another way in by a recipe, before a step that would close the last."""
    return Step(recipe, recipe, (), (), (recipe,), is_consequence=True, visit=visit)


def _step(work: str, member: tuple[str, ...], findings: Sequence[Finding], *, is_consequence: bool) -> Step:
    visits = [finding.rule.visit for finding in findings if finding.rule.visit is not None]
    name = work + "".join(f"/{token}" for token in member)
    return Step(
        name,
        work,
        member,
        tuple(findings),
        is_consequence=is_consequence,
        visit=_joined(visits),
        is_ordered=len(visits) == len(findings),
    )


def _joined(visits: Sequence[Visit]) -> Visit:
    """Return what several mends of one work mean together for a visit."""
    if len(set(visits)) == 1:
        return visits[0]
    return Visit(
        restart=any(visit.restart for visit in visits),
        cuts_access=any(visit.cuts_access for visit in visits),
        output_risk=any(visit.output_risk for visit in visits),
        after=_union(visit.after for visit in visits),
        needs=_union(visit.needs for visit in visits),
        provides=_union(visit.provides for visit in visits),
        minutes=max((visit.minutes or USUAL_MINUTES for visit in visits), default=0),
        is_last=any(visit.is_last for visit in visits),
        at_desk=bool(visits) and all(visit.at_desk for visit in visits),
        opens_first=next((visit.opens_first for visit in visits if visit.opens_first), ""),
    )


def _union(lists: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(word for words in lists for word in words))


def departs(finding: Finding, record: Settings, bench: Bench) -> bool:
    """Return whether a record, as it now is, still departs from the rule of a finding, or may."""
    rule, place = finding.rule, place_of(finding)
    scope = Scope(record, bench.context, bench.facts)
    if not rule.for_each:
        return bool(evaluate(rule, scope).departures)
    if value_at(record, place) is None or place == rule.for_each_tokens:
        return True
    return bool(evaluate_members(rule, scope, [int(place[-1])], 0).departures)


def _offs_first(findings: Sequence[Finding], record: Settings, bench: Bench) -> Sequence[Finding]:
    if all(_mends_alike(finding, findings[0]) for finding in findings):
        return findings
    return sorted(findings, key=lambda finding: not _turns_off(finding, record, bench))


def _mends_alike(one: Finding, other: Finding) -> bool:
    """Return whether two findings at one place are mended by the very same changes."""
    a, b = one.rule.mend, other.rule.mend
    return a is b or (
        has_mend(one.rule)
        and (a.recipe, a.settings, a.new_secrets, a.asks) == (b.recipe, b.settings, b.new_secrets, b.asks)
    )


def _turns_off(finding: Finding, record: Settings, bench: Bench) -> bool:
    return any(
        edit.tokens[-1] == "enabled" and edit.value is False for edit in _edits_of(finding, record, bench)
    )


def accepting(finding: Finding, record: Settings, bench: Bench) -> Deviation | None:
    """Return the deviation that accepts a setting which the mend of a finding would change."""
    return next(filter(None, map(bench.accepting, _mend_of(finding, record, bench))), None)


def _edits_of(finding: Finding, record: Settings, bench: Bench) -> tuple[Edit, ...]:
    return bench.allowed(_mend_of(finding, record, bench))


def _mend_of(finding: Finding, record: Settings, bench: Bench) -> Iterable[Edit]:
    rule = finding.rule
    place = place_of(finding)
    if rule.for_each and place == rule.for_each_tokens:
        return ()  # the list was not captured: nobody knows which members it has
    if has_mend(rule):
        return edits_for(rule, place, record, bench)
    if rule.visit is not None and rule.visit.at_desk:
        return ()
    return unknown_after({seen.pointer: seen.asked for seen in finding.evidence if _may_go(seen.pointer)})


def _may_go(pointer: str) -> bool:
    """Return whether a record may do without a setting: not without what names a card or a member."""
    tokens = split(pointer)
    return len(tokens) > 1 and tokens[-1] not in ("id", "name") and not tokens[-1].isdecimal()
