"""Several sources of one card → one record in the making; what they contradict each other in is told.

Precedence is by how a source was captured: what the card itself told a program goes before what
a person read, and that before what a person typed from memory. Among equals, the source named
first goes before the next. Nothing is resolved in silence: every contradiction names both sources.
"""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, TypeAlias

from auditor.dataclass import dataclass
from auditor.intake.imported import Imported, Lost, Origin
from auditor.record.pointer import join
from auditor.record.settings import Settings

PRECEDENCE = ("netconf", "redfish", "export", "web", "console", "sheet", "by_hand")
"""Words of ``/capture/method``, the most trusted first; our own choice."""

_NAMES = ("name", "host", "address", "algorithm")
"""Members of a list are the same where the first of these that they have is the same."""

_FORMS = frozenset(("clear", "sealed", "crypt", "localized", "empty"))

_DIGEST = "source_digest"
"""Of a capture: differs wherever there are two files."""

Tokens: TypeAlias = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class Contradiction:
    """Two sources that tell a setting differently; the value of ``kept`` stands in the record.

    ``problem`` says in what they differ, never with a value.
    """

    pointer: str
    problem: str
    kept: Origin
    other: Origin


@dataclass(frozen=True, slots=True)
class Merged:
    """What all sources of one card say together; ``sources`` are their files, most trusted first."""

    card_id: str
    settings: Settings
    sources: tuple[str, ...]
    contradictions: tuple[Contradiction, ...]
    lost: tuple[Lost, ...]
    unmapped: tuple[str, ...]


def merge_by_card(imports: Sequence[Imported]) -> tuple[Merged, ...]:
    """Return one merged record a card id, in the order in which the ids first come."""
    by_id: dict[str, list[Imported]] = {}
    for imported in imports:
        by_id.setdefault(imported.card_id, []).append(imported)
    return tuple(merge(found) for found in by_id.values())


def merge(imports: Sequence[Imported]) -> Merged:
    """Merge what several sources say of one card; there must be at least one."""
    ordered = sorted(imports, key=lambda imported: _rank(imported.method))
    first = ordered[0]
    settings: Settings = dict(first.settings)
    told: dict[str, Imported] = {}
    found: list[Contradiction] = []
    for other in ordered[1:]:
        joiner = _Joiner(first, other, told, found)
        settings = joiner.objects(settings, other.settings, ((), ()))
    unmapped = dict.fromkeys(name for imported in ordered for name in imported.unmapped)
    return Merged(
        first.card_id,
        settings,
        tuple(imported.file for imported in ordered),
        tuple(found),
        tuple(lost for imported in ordered for lost in imported.lost),
        tuple(unmapped),
    )


def _rank(method: str) -> int:
    return PRECEDENCE.index(method) if method in PRECEDENCE else len(PRECEDENCE)


@dataclass(frozen=True, slots=True)
class _Joiner:
    """Joins a further source to what is known. ``told`` says which later source told a place."""

    first: Imported
    other: Imported
    told: dict[str, Imported]
    found: list[Contradiction]

    def objects(self, known: Settings, more: Settings, at: tuple[Tokens, Tokens]) -> Settings:
        """Join two objects; ``at`` are their places in the result and in the further source."""
        joined = dict(known)
        for name, value in more.items():
            places = ((*at[0], name), (*at[1], name))
            if places[0] == ("capture",) and "capture" in known:
                self._leave_out_capture(known["capture"], value, places)
                continue
            if name in known:
                joined[name] = self._values(known[name], value, places)
            else:
                joined[name] = value
                self.told[join(places[0])] = self.other
        return joined

    def _values(self, known: Any, value: Any, at: tuple[Tokens, Tokens]) -> Any:  # noqa: ANN401 - JSON
        if known == value:
            return known
        if _is_section(known) and _is_section(value):
            return self.objects(known, value, at)
        if _are_members(known) and _are_members(value):
            return self._members(known, value, at)
        self._contradict(at, _difference(known, value))
        return known

    def _members(self, known: list[Any], more: list[Any], at: tuple[Tokens, Tokens]) -> list[Any]:
        joined, places = list(known), {_identity(member): index for index, member in enumerate(known)}
        for index, member in enumerate(more):
            place = places.get(_identity(member))
            if place is None:
                self._contradict(
                    ((*at[0], len(joined)), (*at[1], index)), "only one of the sources has this member"
                )
                self.told[join((*at[0], len(joined)))] = self.other
                joined.append(member)
            else:
                inner = ((*at[0], place), (*at[1], index))
                joined[place] = self.objects(joined[place], member, inner)
        return joined

    def _leave_out_capture(self, kept: Settings, other: Settings, at: tuple[Tokens, Tokens]) -> None:
        """Tell what a record can't keep: its clocks and its day are those of one capture."""
        names = [name for name in other if name != _DIGEST and other[name] != kept.get(name)]
        if names:
            self._contradict(at, f"a record tells one capture; left out of the other: {', '.join(names)}")

    def _contradict(self, at: tuple[Tokens, Tokens], problem: str) -> None:
        kept = self._origin_of_kept(at[0])
        other = _origin(self.other, at[1])
        self.found.append(Contradiction(join(at[0]), problem, kept, other))

    def _origin_of_kept(self, tokens: Tokens) -> Origin:
        """Return where the value that stands came from: a later source, or the first."""
        outer = (join(tokens[:length]) for length in range(len(tokens), 0, -1))
        source = next((self.told[place] for place in outer if place in self.told), self.first)
        return _origin(source, tokens)


def _origin(source: Imported, tokens: Tokens) -> Origin:
    """Return the origin of a place, or of the first setting below it, or of the source."""
    pointer = join(tokens)
    below: Iterator[Origin] = (
        origin for place, origin in source.origins.items() if place.startswith(pointer + "/")
    )
    found = source.origins.get(pointer) or next(below, None)
    return found or Origin(source.file, 0, pointer)


def _is_section(value: object) -> bool:
    """Tell whether a value is an object of settings, not a secret or a list of sources."""
    return isinstance(value, Mapping) and not (set(value) & (_FORMS | {"any", "prefixes"}))


def _are_members(value: object) -> bool:
    return (
        isinstance(value, list)
        and all(_is_section(member) and _identity(member) for member in value)
        and len({_identity(member) for member in value}) == len(value)
    )


def _identity(member: Mapping[str, Any]) -> str:
    return next((f"{name}={member[name]}" for name in _NAMES if name in member), "")


def _difference(known: object, value: object) -> str:
    if isinstance(known, Mapping) and isinstance(value, Mapping) and set(known) != set(value):
        return "told in two forms that can't be compared"
    return "told differently"
