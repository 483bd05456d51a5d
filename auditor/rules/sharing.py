"""What rules say of sections of a record, kept for other records in which these are the very same.

The cards of an estate are set up alike: most of their sections are equal, to the last byte. Rules
that rest on the same sections are judged together, and it is watched at which sections they look
then; what they say holds for every record in which these are equal. Nothing has to be declared for
that: rules and facts are pure, so a record that shows them the same leads them the same way.
"""

from collections.abc import Callable, ItemsView, Iterable, Iterator, KeysView, ValuesView
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from auditor.facts.fact import Settings
from auditor.record.reading import Digests
from auditor.record.schema import members_at
from auditor.rules.unusual import Batch, Unusual

if TYPE_CHECKING:
    from auditor.rules.result import RuleResult

Places: TypeAlias = tuple[int, ...]
"""Places of rules in a program."""

JudgePlaces: TypeAlias = Callable[[Places, Settings], Unusual]
"""Says what some rules, by place, say of a record."""

_TRIAL: Final = 512
"""After so many records nothing more is kept of rules where it does not pay: fewer than half were known."""

_MOST_KEPT: Final = 1024
"""So many answers are kept of one group of rules at most, so that memory does not grow with the estate."""


class Sharing:
    """Judges records of one run by groups of rules; changes with every record that it meets."""

    def __init__(self, groups: Iterable[Places], judge: JudgePlaces) -> None:
        """Begin with nothing met; ``groups`` are places of rules that rest on the same sections."""
        self._groups = [_Group(places, judge) for places in groups]

    def judge(self, settings: Settings, digests: Digests) -> Unusual:
        """Return what the rules of all groups say of a record with these digests."""
        batches: list[Batch] = []
        single: dict[int, RuleResult] = {}
        for group in self._groups:
            said = group.judge(settings, digests)
            batches += said.batches
            single.update(said.single)
        return Unusual(batches, single)


class _Group:
    """Rules that rest on the same sections, and what they said so far.

    ``_said`` holds, by the sections that the rules looked at, what they said by the digests of
    these; None once keeping proved not to pay.
    """

    def __init__(self, places: Places, judge: JudgePlaces) -> None:
        self._places = places
        self._judge = judge
        self._said: dict[tuple[str, ...], dict[tuple[int | None, ...], Unusual]] | None = {}
        self._room = _MOST_KEPT
        self._met = self._known = 0

    def judge(self, settings: Settings, digests: Digests) -> Unusual:
        if self._said is None:
            return self._judge(self._places, settings)
        self._met += 1
        for names, said in self._said.items():
            known = said.get(tuple(map(digests.get, names)))
            if known is not None:
                self._known += 1
                return known
        return self._judged_anew(settings, digests, self._said)

    def _judged_anew(
        self,
        settings: Settings,
        digests: Digests,
        kept: dict[tuple[str, ...], dict[tuple[int | None, ...], Unusual]],
    ) -> Unusual:
        watched = Watched(settings)
        found = self._judge(self._places, watched)
        names = tuple(sorted(watched.seen))
        if not self._room:
            kept.clear()
            self._room = _MOST_KEPT
        self._room -= 1
        kept.setdefault(names, {})[tuple(map(digests.get, names))] = found
        if self._met >= _TRIAL and 2 * self._known < self._met:
            self._said = None
        return found


class Watched(dict[str, Any]):
    """The sections of a record, noting in ``seen`` the names of those that were looked at.

    Who goes over all of them has looked at every section that there may be, also at those that are not
    there.
    """

    def __init__(self, settings: Settings) -> None:
        """Take the sections in; none was looked at yet."""
        super().__init__(settings)
        self.seen: set[str] = set()

    def get(self, name: str, default: Any = None, /) -> Any:  # noqa: ANN401 - as a dictionary's
        """Return a section, or the default."""
        self.seen.add(name)
        return super().get(name, default)

    def __getitem__(self, name: str) -> Any:  # noqa: ANN401 - any section
        """Return a section."""
        self.seen.add(name)
        return super().__getitem__(name)

    def __contains__(self, name: object) -> bool:
        """Tell whether a section is there."""
        self.seen.add(str(name))
        return super().__contains__(name)

    def __iter__(self) -> Iterator[str]:
        """Iterate over the names."""
        return iter(self.keys())

    def keys(self) -> KeysView[str]:  # type: ignore[override]
        """Return the names."""
        return self._whole().keys()

    def values(self) -> ValuesView[Any]:  # type: ignore[override]
        """Return the sections."""
        return self._whole().values()

    def items(self) -> ItemsView[str, Any]:  # type: ignore[override]
        """Return names and sections."""
        return self._whole().items()

    def _whole(self) -> dict[str, Any]:
        self.seen.update(members_at(()))
        return {name: super(Watched, self).__getitem__(name) for name in dict.__iter__(self)}
