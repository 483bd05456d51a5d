"""One card over the sweeps that saw it: its findings, each spell of them, and its own trend."""

from collections import Counter
from collections.abc import Iterator
from datetime import datetime
from enum import StrEnum

from auditor.dataclass import dataclass, field, replace
from auditor.history.card_result import CardResult, FindingKey, KeptFinding
from auditor.history.fate import Fate, Sighting
from auditor.history.spell import Spell
from auditor.history.sweep import Series, Sweep


class Event(StrEnum):
    """What a sweep says of a finding, held against the sighting of its card before.

    ``first``: it was there when its rule first judged the card, so nobody knows since when.
    """

    FIRST = "first"
    NEW = "new"
    RETURNED = "returned"
    PERSISTING = "persisting"
    MENDED = "mended"
    LOST = "lost"
    WITHDRAWN = "withdrawn"


@dataclass(frozen=True, slots=True)
class Seen:
    """One sweep on its way over the cards: what each card needs to know of it."""

    sweep: Sweep
    rules: frozenset[str]


@dataclass(slots=True)
class CardLife:
    """A card while sweeps go by, in the order of time.

    ``trend`` holds when the card's result changed, and what it was from then on.
    ``missed`` is the first sweep of its series that did not see it, None while it is there.
    """

    first_seen: datetime
    last_seen: datetime
    series: Series
    result: CardResult
    missed: datetime | None = None
    trend: list[tuple[datetime, CardResult]] = field(default_factory=list)
    _rules: frozenset[str] = frozenset()
    _standing: dict[FindingKey, Spell] = field(default_factory=dict)
    _ended: list[Spell] = field(default_factory=list)
    _mended: Counter[FindingKey] = field(default_factory=Counter)

    @classmethod
    def begun(cls, result: CardResult, seen: Seen) -> "CardLife":
        """Return the life of a card that was never seen before; ``see`` takes its first sighting."""
        moment = seen.sweep.as_of
        return cls(moment, moment, seen.sweep.series, result)

    def see(self, result: CardResult, seen: Seen, events: Counter[Event]) -> None:
        """Take what a sweep says of the card, and count what became of its findings."""
        same = result is self.result or result == self.result
        unchanged = same and seen.rules == self._rules and bool(self.trend)
        if not unchanged:
            self._change(result, seen, events)
            self.trend.append((seen.sweep.as_of, result))
        else:
            found = len(result.findings)
            events[Event.PERSISTING] += found
            events[Event.LOST] += len(self._standing) - found
        self.last_seen, self.series, self.missed = seen.sweep.as_of, seen.sweep.series, None
        self.result, self._rules = result, seen.rules

    def spells(self) -> Iterator[Spell]:
        """Yield every spell, ended ones first; one that was found last is found as of then."""
        yield from self._ended
        for spell in self._standing.values():
            yield replace(spell, last_found=self.last_seen) if spell.fate is Fate.OPEN else spell

    def _change(self, result: CardResult, seen: Seen, events: Counter[Event]) -> None:
        sighting, moment = Sighting(result, seen.rules), seen.sweep.as_of
        for key, spell in list(self._standing.items()):
            fate = sighting.fate_of(key)
            events[_EVENTS[fate]] += 1
            known = self._went_on(spell, sighting.found.get(key))
            self._standing[key] = known if fate is spell.fate else replace(known, fate=fate, since=moment)
            if fate in (Fate.MENDED, Fate.WITHDRAWN):
                self._mended[key] += fate is Fate.MENDED
                self._ended.append(replace(self._standing.pop(key), ended=moment))
        for key, finding in sighting.found.items():
            if key not in self._standing:
                self._standing[key] = spell = self._opened(finding, result, seen)
                events[_beginning(spell)] += 1

    def _went_on(self, spell: Spell, finding: KeptFinding | None) -> Spell:
        """Return a spell that is seen again; so far it was found last when the card was, if it stood."""
        found_until = self.last_seen if spell.fate is Fate.OPEN else spell.last_found
        return replace(spell, finding=finding or spell.finding, last_found=found_until)

    def _opened(self, finding: KeptFinding, result: CardResult, seen: Seen) -> Spell:
        moment = seen.sweep.as_of
        return Spell(
            card=result.card, site=result.site, finding=finding,
            title=seen.sweep.rules.get(finding.rule, finding.rule), opened=moment, last_found=moment,
            since_before=finding.rule not in self._rules, fate=Fate.OPEN, ended=None,
            earlier=self._mended[finding.key], since=moment,
        )  # fmt: skip


_EVENTS = {
    Fate.OPEN: Event.PERSISTING,
    Fate.LOST: Event.LOST,
    Fate.MENDED: Event.MENDED,
    Fate.WITHDRAWN: Event.WITHDRAWN,
}


def _beginning(spell: Spell) -> Event:
    if spell.earlier:
        return Event.RETURNED
    return Event.FIRST if spell.since_before else Event.NEW
