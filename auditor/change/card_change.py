"""One card before and after: what moved, which findings are new, worse, better, and what got lost.

Compares two assessments, result by result; what of it holds a change is not decided here.
"""

from collections.abc import Iterator, Mapping
from enum import StrEnum
from typing import TypeAlias

from auditor.change.compare import Move, moves
from auditor.change.secret_names import clear_secrets
from auditor.dataclass import dataclass
from auditor.facts.fact import Context
from auditor.facts.reach.way import Way, is_easier
from auditor.facts.reach.ways import minimal, switching, ways
from auditor.record.pointer import value_at
from auditor.record.reading import Record
from auditor.rules.result import Outcome
from auditor.rules.rule import Rule
from auditor.scoring.assessment import CardAssessment, Finding, Missing
from auditor.scoring.identity import identities, member_keys

ResultName: TypeAlias = tuple[str, str]
"""Id of a rule and what names the member, empty for the card."""


class State(StrEnum):
    """What became of a card."""

    ADDED = "added"
    REMOVED = "removed"
    RENAMED = "renamed"
    CHANGED = "changed"


@dataclass(frozen=True, slots=True)
class Judged:
    """A record and what the audit says of it."""

    record: Record
    assessment: CardAssessment


@dataclass(frozen=True, slots=True)
class Worsened:
    """A finding that was there before, less severe or with a better outcome."""

    before: Finding
    after: Finding


@dataclass(frozen=True, slots=True)
class Lost:
    """A result that could be decided before, and can't be any more; ``was`` is the outcome then."""

    rule: Rule
    label: str
    pointer: str
    was: Outcome


@dataclass(frozen=True, slots=True)
class CardChange:
    """What a change does to one card.

    ``before`` is None for a card that is added, ``after`` for one that is removed. ``new``,
    ``worsened`` and ``mended`` stand worst first. ``lost`` are results that can't be decided any
    more, ``gained`` those that pass now and could not be decided before. ``new_ways`` are ways
    to switch the load off, ``closed_ways`` those that are gone; ``clear`` are pointers of
    secrets that newly stand in clear, ``sealed`` counts those that do no more.
    """

    state: State
    card_id: str
    before: Judged | None
    after: Judged | None
    moves: tuple[Move, ...] = ()
    new: tuple[Finding, ...] = ()
    worsened: tuple[Worsened, ...] = ()
    lessened: tuple[Worsened, ...] = ()
    mended: tuple[Finding, ...] = ()
    lost: tuple[Lost, ...] = ()
    gained: tuple[Missing | Finding, ...] = ()
    new_ways: tuple[Way, ...] = ()
    closed_ways: tuple[Way, ...] = ()
    clear: tuple[str, ...] = ()
    sealed: int = 0


def added(after: Judged) -> CardChange:
    """Return what a card that was not there brings along: every finding is new."""
    clear = clear_secrets(after.record.settings)
    return CardChange(
        State.ADDED,
        after.record.card_id,
        None,
        after,
        new=after.assessment.findings,
        clear=tuple(clear.values()),
    )


def removed(before: Judged) -> CardChange:
    """Return that a card is gone."""
    return CardChange(State.REMOVED, before.record.card_id, before, None)


def changed(before: Judged, after: Judged, context: Context) -> CardChange:
    """Return what is other on a card, by its settings and by what the rules say of them."""
    old, new = _Results(before), _Results(after)
    first, second = before.record.settings, after.record.settings
    is_renamed = before.record.card_id != after.record.card_id
    were, are = clear_secrets(first), clear_secrets(second)
    pairs = [
        Worsened(old.findings[name], new.findings[name]) for name in new.findings if name in old.findings
    ]
    ways_before, ways_after = (switching(ways(settings, context)) for settings in (first, second))
    return CardChange(
        State.RENAMED if is_renamed else State.CHANGED,
        after.record.card_id,
        before,
        after,
        moves(first, second),
        tuple(finding for name, finding in new.findings.items() if name not in old.findings),
        tuple(pair for pair in pairs if _is_worse(pair.before, pair.after)),
        tuple(pair for pair in pairs if pair.after.severity.score < pair.before.severity.score),
        tuple(finding for name, finding in old.findings.items() if name not in new.departed),
        tuple(_lost(old, new)),
        tuple(found for name, found in old.unknown.items() if name not in new.departed),
        tuple(_new_ways(ways_before, ways_after)),
        tuple(_gone(ways_before, ways_after)),
        tuple(pointer for name, pointer in are.items() if name not in were),
        len([name for name in were if name not in are]),
    )


class _Results:
    """The departures of a card by their names; whatever is not among them passed or does not apply."""

    def __init__(self, judged: Judged) -> None:
        assessment = judged.assessment
        self.settings = judged.record.settings
        departed: tuple[Finding | Missing, ...] = (*assessment.findings, *assessment.missing)
        named = zip(identities(self.settings, departed), departed, strict=True)
        self.departed: Mapping[ResultName, Finding | Missing] = {
            (identity.rule, identity.member): found for identity, found in named
        }
        self.findings = {name: f for name, f in self.departed.items() if isinstance(f, Finding)}
        self.unknown = {name: f for name, f in self.departed.items() if _outcome(f) is Outcome.UNKNOWN}
        self._outcomes = {result.rule.id: result.outcome for result in assessment.results}
        self._members: dict[str, frozenset[str]] = {}

    def known(self, name: ResultName, rule: Rule) -> Outcome | None:
        """Return the outcome that was decided under a name; None for none, or where it was not."""
        if found := self.departed.get(name):
            outcome = _outcome(found)
            return outcome if outcome is Outcome.FAIL else None
        if name[1] and ((rule.id, "") in self.departed or name[1] not in self._names(rule)):
            return None  # the list was not captured, or the member was not there
        overall = self._outcomes[rule.id]
        if name[1]:
            return Outcome.NOTAPPLICABLE if overall is Outcome.NOTAPPLICABLE else Outcome.PASS
        return overall if overall in _DECIDED else None

    def _names(self, rule: Rule) -> frozenset[str]:
        if rule.for_each not in self._members:
            members = value_at(self.settings, rule.for_each_tokens) or ()
            self._members[rule.for_each] = frozenset(member_keys(members))
        return self._members[rule.for_each]


_DECIDED = (Outcome.PASS, Outcome.FAIL, Outcome.NOTAPPLICABLE)


def _outcome(found: Finding | Missing) -> Outcome:
    return found.outcome if isinstance(found, Finding) else Outcome.UNKNOWN


def _is_worse(before: Finding, after: Finding) -> bool:
    return after.severity.score > before.severity.score or (
        before.outcome is Outcome.UNKNOWN and after.outcome is not Outcome.UNKNOWN
    )


def _lost(old: _Results, new: _Results) -> Iterator[Lost]:
    for name, found in new.unknown.items():
        was = old.known(name, found.rule)
        if was is not None:
            yield Lost(found.rule, found.label, _wanted(found), was)


def _wanted(found: Finding | Missing) -> str:
    return next((each.pointer for each in found.evidence if each.pointer), found.pointer)


def _new_ways(before: tuple[Way, ...], after: tuple[Way, ...]) -> Iterator[Way]:
    """Yield ways that were not there, and those that surely became easier; none beside an easier one."""
    old: dict[tuple[str, str], list[Way]] = {}
    for way in before:
        old.setdefault((way.channel, way.party), []).append(way)
    for way in minimal(after):
        known = old.get((way.channel, way.party), [])
        if not known or all(is_easier(way, other) for other in known):
            yield way


def _gone(before: tuple[Way, ...], after: tuple[Way, ...]) -> Iterator[Way]:
    there = {(way.channel, way.party) for way in after}
    return (way for way in before if (way.channel, way.party) not in there)
