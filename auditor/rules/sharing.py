"""What rules say of parts of a record, kept for other records in which these are the very same.

The cards of an estate are set up alike: most of their sections are equal, to the last byte. Rules
that rest on the same settings are judged together, and it is watched where they look then; what
they say holds for every record in which that is equal. Nothing has to be declared for it: rules
and facts are pure, so a record that shows them the same leads them the same way.
"""

from collections.abc import Callable, ItemsView, Iterable, Iterator, KeysView, Sequence, ValuesView
from itertools import chain
from operator import itemgetter
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from auditor.facts.fact import Settings
from auditor.record.digests import APART, Digests
from auditor.record.schema import members_at
from auditor.rules.unusual import Batch, Unusual, joined

if TYPE_CHECKING:
    from auditor.rules.result import RuleResult

Places: TypeAlias = tuple[int, ...]
"""Places of rules in a program."""

JudgePlaces: TypeAlias = Callable[[Places, Settings], Unusual]
"""Says what some rules, by place, say of a record."""

_FIRST_LOOK: Final = 32
"""Rules of which no answer was known among so many records rest on what is each card's own."""

_TRIAL: Final = 128
"""So many records tell whether keeping pays for a group of rules: where half of the answers were known."""

_MOST_KEPT: Final = 256
"""So many answers are kept of one group of rules at most, so that memory does not grow with the estate."""

_MOST_JOINED: Final = 64
"""So many batches at most are made of several, of one group of rules: what is worked out of each is kept."""


class Sharing:
    """Judges records of one run by groups of rules; changes with every record that it meets."""

    def __init__(self, groups: Iterable[Places], judge: JudgePlaces) -> None:
        """Begin with nothing met; ``groups`` are places of rules that rest on the same settings."""
        self._judge = judge
        self._groups = [_Group(places, judge) for places in groups]
        self._others: Places = ()
        self._met = 0

    def judge(self, settings: Settings, digests: Digests) -> Unusual:
        """Return what the rules of all groups say of a record with these digests."""
        batches: list[Batch] = []
        single: dict[int, RuleResult] = {}
        for group in self._groups:
            said = group.judge(settings, digests)
            batches += said.batches
            if said.single:
                single.update(said.single)
        if self._others:
            said = self._judge(self._others, settings)
            batches += said.batches
            single.update(said.single)
        self._met += 1
        if self._met == _FIRST_LOOK:
            self._leave([group for group in self._groups if not group.known])
        elif not self._met % _TRIAL:
            self._leave([group for group in self._groups if 2 * group.known < _TRIAL])
            for group in self._groups:
                group.known = 0
        return Unusual(batches, single)

    def _leave(self, groups: Sequence["_Group"]) -> None:
        """Judge the rules of some groups together from here on, without keeping."""
        if groups:
            self._groups = [group for group in self._groups if group not in groups]
            self._others = tuple(sorted(chain(self._others, *(group.places for group in groups))))


class _Group:
    """Rules that rest on the same settings, and what they said so far.

    ``known`` counts the answers that were there already. ``_said`` holds, by what gets the digests of
    all that the rules looked at, what they said by these digests.
    """

    def __init__(self, places: Places, judge: JudgePlaces) -> None:
        self.places = places
        self.known = 0
        self._judge = judge
        self._said: dict[itemgetter[Any], dict[Any, Unusual]] = {}
        self._getters: dict[frozenset[str], itemgetter[Any]] = {}
        self._joined: dict[tuple[Batch, ...], Batch] = {}
        self._room = _MOST_KEPT

    def judge(self, settings: Settings, digests: Digests) -> Unusual:
        for get, said in self._said.items():
            found = said.get(get(digests))
            if found is not None:
                self.known += 1
                return found
        return self._judged_anew(settings, digests)

    def _judged_anew(self, settings: Settings, digests: Digests) -> Unusual:
        seen: set[str] = set()
        judged = self._judge(self.places, Watched(settings, seen))
        found = Unusual(self._as_one(judged.batches), judged.single)
        if not self._room:
            self._said.clear()
            self._room = _MOST_KEPT
        self._room -= 1
        # Rules that look nowhere say one thing of every record: any name does for them.
        names = frozenset(seen or ("card",))
        get = self._getters.setdefault(names, itemgetter(*names))
        self._said.setdefault(get, {})[get(digests)] = found
        return found

    def _as_one(self, batches: Sequence[Batch]) -> Sequence[Batch]:
        """Return batches that come together as one, the same each time: who sums up has less to do."""
        if len(batches) <= 1:
            return batches
        together = tuple(batches)
        if together not in self._joined and len(self._joined) == _MOST_JOINED:
            return batches
        return (self._joined.setdefault(together, joined(together)),)


class Watched(dict[str, Any]):
    """The sections of a record, or the members of a section, noting the names under which one looks.

    Names are those of ``Digests``. Who goes over all there is has looked under every name that the
    schema knows here, also where nothing is.
    """

    def __init__(self, content: Settings, seen: set[str], section: str = "") -> None:
        """Take the content in; names are noted in ``seen``. ``section`` is the one, if it is one."""
        super().__init__(content)
        self._seen = seen
        self._section = section

    def get(self, name: str, default: Any = None, /) -> Any:  # noqa: ANN401 - as a dictionary's
        """Return what stands under a name, or the default."""
        self._note(name)
        return self[name] if super().__contains__(name) else default

    def __getitem__(self, name: str) -> Any:  # noqa: ANN401 - any setting
        """Return what stands under a name, watched in its turn where its members have digests."""
        self._note(name)
        value = super().__getitem__(name)
        is_apart = not self._section and name in APART
        return Watched(value, self._seen, name) if is_apart else value

    def __contains__(self, name: object) -> bool:
        """Tell whether anything stands under a name."""
        self._note(str(name))
        return super().__contains__(name)

    def __iter__(self) -> Iterator[str]:
        """Iterate over the names."""
        return iter(self.keys())

    def keys(self) -> KeysView[str]:  # type: ignore[override]
        """Return the names."""
        return self._whole().keys()

    def values(self) -> ValuesView[Any]:  # type: ignore[override]
        """Return what stands under the names."""
        return self._whole().values()

    def items(self) -> ItemsView[str, Any]:  # type: ignore[override]
        """Return the names and what stands under them."""
        return self._whole().items()

    def _note(self, name: str) -> None:
        self._seen.add(f"{self._section}/{name}" if self._section else name)

    def _whole(self) -> dict[str, Any]:
        for name in members_at((self._section,) if self._section else ()):
            self._note(name)
        return {name: self[name] for name in dict.__iter__(self)}
