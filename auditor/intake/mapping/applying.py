"""A map and a source → what the source says of its cards. Decides nothing about formats or forms."""

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError
from auditor.intake.draft import Draft
from auditor.intake.fitting import misfit
from auditor.intake.imported import Imported, Origin, id_from_name
from auditor.intake.mapping.conversion import convert, convert_items, is_unknown, says_none
from auditor.intake.mapping.conversion_error import ConversionError
from auditor.intake.mapping.language import ListMap, Map, SettingMap, SourceKind
from auditor.intake.mapping.opening import open_source
from auditor.intake.mapping.place import Block, Found
from auditor.intake.mapping.reading_text import match_form
from auditor.record.limits import DEFAULT


@dataclass(frozen=True, slots=True)
class Silent:
    """A setting of the map that a source says nothing of; ``to`` has ``*`` for members of lists."""

    to: str
    line: int


@dataclass(frozen=True, slots=True)
class Applied:
    """What a map made of one card, with what its source says nothing of.

    ``absent`` are settings whose place is not in the source, ``blank`` those whose place holds
    nothing, or a word for unknown.
    """

    imported: Imported
    absent: tuple[Silent, ...]
    blank: tuple[Origin, ...]


def apply_map(chosen: Map, text: bytes, file: str) -> tuple[Imported, ...]:
    """Return what a source says of its cards; a row of CSV is a card, any other source is one.

    Raises:
        InputError: with every fault of the source, such as a row without a card id.
    """
    return tuple(applied.imported for applied in apply_fully(chosen, text, file))


def apply_fully(chosen: Map, text: bytes, file: str) -> tuple[Applied, ...]:
    """Return what a source says of its cards, and what it does not say.

    Raises:
        InputError: with every fault of the source, such as a row without a card id.
    """
    blocks = open_source(text, file, chosen.source, chosen.layout)
    runs = [_Run(chosen, block, file) for block in blocks]
    applied = [run.applied() for run in runs]
    if chosen.source is SourceKind.CSV:
        _check_rows(chosen, runs, applied, file)
    return tuple(applied)


def _check_rows(chosen: Map, runs: Sequence["_Run"], applied: Sequence[Applied], file: str) -> None:
    """Refuse rows that can't be told apart by their card id."""
    faults: list[Fault] = []
    first: dict[str, int] = {}
    for run, one in zip(runs, applied, strict=True):
        line, card_id = run.block.here().line, one.imported.card_id
        if not run.has_own_id:
            column = " or ".join(chosen.card_id) or "a column that card_id in the map names"
            faults.append(Fault(file, "", line, 0, "no card id that can be used", f"Write it in {column}."))
        elif card_id in first:
            problem = f"card id {card_id} is also that of line {first[card_id]}"
            faults.append(Fault(file, "", line, 0, problem, "Keep one row a card."))
        first.setdefault(card_id, line)
    if faults:
        raise InputError(faults)


class _At(NamedTuple):
    """Where in a record: the pointer of a member, and the same with ``*`` for numbers of members."""

    pointer: str
    general: str


class _Run:
    """One card on its way from a source through a map; it changes while it goes, and only then."""

    def __init__(self, chosen: Map, block: Block, file: str) -> None:
        self.block = block
        self.has_own_id = False
        self._map, self._file = chosen, file
        self._draft = Draft(file, chosen.method)
        self._taken: set[int] = set()
        self._met: set[tuple[str, int]] = set()
        self._blank: list[Origin] = []
        self._empty_lists: dict[str, Origin] = {}

    def applied(self) -> Applied:
        """Follow the whole map once."""
        card_id = self._card_id()
        for setting in self._map.settings:
            self._setting(setting, self.block, _At("", ""))
        for one in self._map.lists:
            self._list(one, self.block, _At("", ""))
        self._settle_empty_lists("")
        for name in self._left_over():
            self._draft.unmapped(name)
        absent = tuple(silent for silent in _every(self._map) if (silent.to, silent.line) not in self._met)
        return Applied(self._draft.done(card_id), absent, tuple(self._blank))

    def _card_id(self) -> str:
        for found in (found for place in self._map.card_id for found in self._find(self.block, place)):
            told = found.text.strip()
            why = found.fault or misfit("/card/id", told)
            if not why:
                self.has_own_id = True
                return told
            self._draft.lose(self._origin(found), f"no card id: {why}")
        return id_from_name(self._file)

    def _find(self, block: Block, place: str) -> Sequence[Found]:
        found = block.find(place)
        self._taken.update(one.key for one in found)
        return found

    def _left_over(self) -> list[str]:
        """Return the names of what no place of the map leads to, but those that it ignores."""
        leaves = self.block.leaves()
        known = {leaf.name for leaf in leaves if leaf.key in self._taken}
        names = dict.fromkeys(leaf.name for leaf in leaves if leaf.name not in known)
        ignore = self._map.ignore
        return [name for name in names if not any(match_form(form, name) is not None for form in ignore)]

    def _setting(self, setting: SettingMap, block: Block, at: _At) -> bool:
        """Take one setting of a member, or of the card, and tell whether it was put."""
        pointer, told = at.pointer + setting.to, (at.general + setting.to, setting.line)
        if setting.fixed:
            self._met.add(told)
            origin = Origin(self._map.file, setting.line, "a fixed value of the map")
            return self._draft.put(pointer, setting.fixed[0], origin)
        found = list(self._sought(setting, block))
        if not found and not _holds_none(setting, block):
            return False
        self._met.add(told)
        origin = self._origin(found[0] if found else block.here())
        value = self._value(setting, found, origin)
        return value is not None and self._draft.put(pointer, value, origin)

    def _sought(self, setting: SettingMap, block: Block) -> Iterator[Found]:
        """Yield what stands at the places of a setting: all of them, or the first that is there."""
        for place in setting.places:
            found = self._find(block, place)
            yield from found
            if found and not setting.takes_all and setting.join is None:
                return

    def _value(self, setting: SettingMap, found: Sequence[Found], origin: Origin) -> object:
        """Return the value that places give; None if they say nothing, or it was lost."""
        faulty = next((one for one in found if one.fault), None)
        if faulty is not None:
            self._draft.lose(self._origin(faulty), faulty.fault)
            return None
        try:
            texts = _texts(setting, found)
            if texts:
                return _value(setting, texts, is_empty=not found)
            self._blank.append(origin)
        except ConversionError as error:
            self._draft.lose(origin, error.why)
        return None

    def _origin(self, found: Found) -> Origin:
        return Origin(self._file, found.line, found.at)

    def _list(self, one: ListMap, block: Block, at: _At) -> None:
        blocks = block.blocks(one.inside, one.each)
        if blocks is None:
            return
        inner = _At(at.pointer + one.to, f"{at.general}{one.to}/*")
        members = [member for member in blocks if not self._is_empty_slot(one, member)]
        if one.each and not members:
            self._empty_lists.setdefault(inner.pointer, self._holder(one, block))
            self._met.update((silent.to, silent.line) for silent in _every_in(one, at.general))
        for member in members[: DEFAULT.items]:
            self._member(one, member, inner)
        if len(members) > DEFAULT.items:
            origin = self._origin(members[DEFAULT.items].here())
            self._draft.lose(origin, f"more than {DEFAULT.items} members of one list")

    def _holder(self, one: ListMap, block: Block) -> Origin:
        """Return the place of what would hold the members of a list."""
        holders = block.blocks(one.inside, "") if one.inside else None
        found = (holders[0] if holders else block).here()
        self._taken.add(found.key)
        return self._origin(found)

    def _member(self, one: ListMap, block: Block, of: _At) -> None:
        at = _At(self._draft.next_item(of.pointer), of.general)
        put = [self._setting(setting, block, at) for setting in one.settings]
        for inner in one.lists:
            self._list(inner, block, at)
        self._settle_empty_lists(f"{at.pointer}/")
        if one.each and not any(put) and not self._draft.has(at.pointer):
            self._draft.lose(self._origin(block.here()), "a block of which no setting could be taken")

    def _settle_empty_lists(self, above: str) -> None:
        """Put the lists below a place of which the source said that they hold nothing, if they still do.

        A list in a member that came to nothing goes with it: the next member takes its number.
        """
        for pointer in [pointer for pointer in self._empty_lists if pointer.startswith(above)]:
            origin = self._empty_lists.pop(pointer)
            if not self._draft.has(pointer) and (not above or self._draft.has(above[:-1])):
                self._draft.put(pointer, [], origin)

    def _is_empty_slot(self, one: ListMap, block: Block) -> bool:
        """Tell whether a block lacks what its list needs; then all that it tells counts as seen."""
        needed = [setting for setting in one.settings if setting.to in one.needs]
        if all(self._is_told(setting, block) for setting in needed):
            return False
        for setting in one.settings:
            tuple(self._sought(setting, block))
        return True

    def _is_told(self, setting: SettingMap, block: Block) -> bool:
        found = list(self._sought(setting, block))
        if found:
            return any(one.fault or not is_unknown(one.text, setting.conversion) for one in found)
        return bool(setting.fixed)


def _holds_none(setting: SettingMap, block: Block) -> bool:
    """Tell whether the source has the list that a setting is, and nothing in it."""
    return setting.takes_all and any(block.holds_none(place) for place in setting.places)


def _texts(setting: SettingMap, found: Sequence[Found]) -> list[str]:
    """Return the texts that say something.

    Raises:
        ConversionError: if one setting is told several times, and differently.
    """
    texts = [one.text for one in found]
    if setting.join is not None:
        texts = [setting.join.join(texts)] if len(texts) >= len(setting.places) else []
    elif not setting.takes_all and len(set(texts)) > 1:
        lines = sorted({one.line for one in found if one.line})
        places = f" (lines {', '.join(map(str, lines))})" if len(lines) > 1 else ""
        raise ConversionError(f"told {len(texts)} times, and differently{places}")
    if not found and setting.conversion.kind != "sources":
        return [""]
    return [text for text in texts or [""] if not is_unknown(text, setting.conversion)]


def _value(setting: SettingMap, texts: Sequence[str], *, is_empty: bool) -> object:
    """Convert texts; ``is_empty`` tells that the source has the list, and nothing in it.

    An empty list of sources is no answer: some cards mean nobody by it, others anybody.
    """
    conversion = setting.conversion
    if conversion.kind == "sources":
        return convert(conversion.split.join(texts), conversion)
    if not setting.takes_all:
        return convert(texts[0], conversion)
    if is_empty or says_none(texts, conversion):
        return []
    return convert_items(texts, conversion)


def _every(chosen: Map) -> Iterator[Silent]:
    yield from (Silent(setting.to, setting.line) for setting in chosen.settings)
    for one in chosen.lists:
        yield from _every_in(one, "")


def _every_in(one: ListMap, general: str) -> Iterator[Silent]:
    inner = f"{general}{one.to}/*"
    yield from (Silent(inner + setting.to, setting.line) for setting in one.settings)
    for below in one.lists:
        yield from _every_in(below, inner)
