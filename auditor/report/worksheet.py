"""What stands on a worksheet: everything of a card that must still be read by hand, in the order of a visit.

Decides no layout: the writers of the formats do.
"""

from collections.abc import Iterable, Iterator, Sequence

from auditor.dataclass import dataclass
from auditor.record.cell import write_cell
from auditor.record.outline import ANY, Leaf, leaf_at, sealed_parts
from auditor.record.pointer import join, value_at
from auditor.record.schema import place_at
from auditor.record.settings import Settings
from auditor.record.visit import VISIT, Spot, Stop, as_question, is_known, path_of, spots_of

ROOM = 3
"""Members that an unknown list has room for on the form; our own figure. More go on another form."""

MOST_TICKS = 10
"""Allowed words that are printed as boxes to tick, not as a list; our own figure."""

SAFETY = (
    "Local codes, the rules of the site and licensed practice go before anything that is asked here.",
    "Qualified people only. The equipment holds dangerous voltages and stored energy, even disconnected.",
    "The card can switch off the load behind it. Touch no output, test, restart or reset while you read.",
    "Equipment that feeds life-safety load: only with the authority of the site.",
)
"""The cautions for reading a card by hand. Source: common practice, no source."""

CAUTIONS = (
    *SAFETY,
    "Write no password, community or key on this form. It asks only what may be known of one.",
    "Leave out what you can't see. A guess is worse than an empty box: empty means unknown.",
)
"""Source: common practice, no source."""

HEAD = (
    (("card", "id"), "Card"),
    (("card", "site"), "Site"),
    (("capture", "taken_at"), "Date and time, with UTC offset"),
    (("capture", "taken_by"), "Technician"),
)
"""The settings that stand in the head of the form, with their names there."""

_EMPTY_SECRET = "; 0 when the secret is empty"  # noqa: S105 - words of a form


@dataclass(frozen=True, slots=True)
class HeadBox:
    """A box in the head: the place of its setting, its name, what is known, and what is allowed."""

    pointer: str
    title: str
    value: str
    allowed: str


@dataclass(frozen=True, slots=True)
class Line:
    """One thing to read off, once for each member of a list.

    ``pointers`` are the places of the answers, one a column of the table, empty where the
    record knows the answer; a line with one pointer in a table of several columns is about the
    list itself. ``ticks`` are the allowed words where each gets a box.
    """

    pointers: tuple[str, ...]
    title: str
    text: str
    unit: str
    allowed: str
    ticks: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Given:
    """An answer that the record knows, and that says which member of a list the others are about."""

    pointer: str
    title: str
    answer: str


@dataclass(frozen=True, slots=True)
class Table:
    """Lines that belong together.

    ``columns`` name the members of a list; where there is no list, there is one column without
    a name. ``given`` are the number of a known list's members, and their names. There may be no
    lines, where something is asked only of a list inside this one.
    """

    title: str
    columns: tuple[str, ...]
    lines: tuple[Line, ...]
    given: tuple[Given, ...] = ()


@dataclass(frozen=True, slots=True)
class Section:
    """A section of the record, such as the accounts."""

    title: str
    tables: tuple[Table, ...]


@dataclass(frozen=True, slots=True)
class Part:
    """One stop of the visit."""

    title: str
    how: tuple[str, ...]
    sections: tuple[Section, ...]


@dataclass(frozen=True, slots=True)
class Worksheet:
    """The whole form; parts, sections and tables without anything to read are left out."""

    head: tuple[HeadBox, ...]
    cautions: tuple[str, ...]
    parts: tuple[Part, ...]

    @property
    def card_id(self) -> str:
        """Return the id of the card, empty if it is to be written in."""
        return self.head[0].value


def worksheet_of(record: Settings | None = None) -> Worksheet:
    """Return the worksheet of a card: of all settings, or of those that a record leaves unknown."""
    settings = record or {}
    parts = (_part(stop, settings) for stop in VISIT)
    return Worksheet(
        tuple(_head_box(tokens, title, settings) for tokens, title in HEAD),
        CAUTIONS,
        tuple(part for part in parts if part.sections),
    )


def _head_box(tokens: tuple[str, ...], title: str, settings: Settings) -> HeadBox:
    leaf = leaf_at(tokens)
    of_this_visit = tokens[0] == "capture"  # when and by whom the record was captured says nothing of it
    known = "" if of_this_visit else value_at(settings, tokens)
    return HeadBox(join(tokens), title, known or "", leaf.allowed if leaf else "")


def _part(stop: Stop, settings: Settings) -> Part:
    sections = (_section(place, settings) for place in stop.sections)
    return Part(stop.title, stop.how, tuple(section for section in sections if section.tables))


def _section(place: tuple[str, ...], settings: Settings) -> Section:
    in_head = [tokens for tokens, _ in HEAD]
    spots = [spot for spot in spots_of(place, settings, ROOM) if spot.tokens not in in_head]
    tables = {key: _table(key, members, len(place), settings) for key, members in _by_table(spots)}
    asked = [key for key, table in tables.items() if table.lines]
    kept = [table for key, table in tables.items() if any(other[: len(key)] == key for other in asked)]
    described = place_at(place)
    return Section(described.title if described else "", tuple(kept))


def _by_table(spots: Iterable[Spot]) -> Iterable[tuple[tuple[str, ...], list[Spot]]]:
    """Group spots by the list or object that holds them, in the order in which these begin."""
    groups: dict[tuple[str, ...], list[Spot]] = {}
    for spot in spots:
        groups.setdefault(_table_of(spot), []).append(spot)
    return groups.items()


def _table_of(spot: Spot) -> tuple[str, ...]:
    if spot.leaf.kind == "members":
        return spot.tokens
    index = _last_index(spot.tokens)
    return spot.tokens[: len(spot.tokens) - 1 if index is None else index]


def _last_index(tokens: Sequence[str]) -> int | None:
    return next((at for at in range(len(tokens) - 1, -1, -1) if tokens[at].isdecimal()), None)


def _table(key: tuple[str, ...], spots: Sequence[Spot], depth: int, settings: Settings) -> Table:
    holder = leaf_at(tuple(ANY if token.isdecimal() else token for token in key))
    if holder is None:
        covered = spots[0].leaf.titles
        lines = [line for spot in spots for line in _lines([spot], len(covered), settings)]
        return Table(": ".join(covered[depth:]), ("",), tuple(lines))
    return _list_table(Spot(holder, key), spots, depth, settings)


def _list_table(itself: Spot, spots: Sequence[Spot], depth: int, settings: Settings) -> Table:
    rows: dict[tuple[str, ...], list[Spot]] = {}
    for spot in spots:
        if spot.tokens != itself.tokens:
            rows.setdefault(spot.leaf.tokens, []).append(spot)
    path = path_of(itself)
    lines = [] if is_known(itself, settings) else [_count_line(itself)]
    lines += [line for row in rows.values() for line in _lines(row, len(path), settings)]
    members = [spot.tokens[: len(itself.tokens) + 1] for spot in next(iter(rows.values()), ())]
    names = tuple(_name(tokens, settings) for tokens in members)
    given = tuple(_given(itself, settings)) if is_known(itself, settings) else ()
    return Table(": ".join(path[depth:]), names or ("",), tuple(lines), given)


def _given(itself: Spot, settings: Settings) -> Iterator[Given]:
    members = value_at(settings, itself.tokens)
    yield Given(join(itself.tokens), f"{itself.leaf.title}: how many", write_cell(itself.leaf, len(members)))
    for index, member in enumerate(members):
        name = next((name for name in _NAMES if name in member), "")
        leaf = leaf_at((*itself.leaf.tokens, ANY, name))
        if leaf and leaf.shown:
            pointer = join((*itself.tokens, str(index), name))
            yield Given(pointer, f"{leaf.title} of number {index + 1}", write_cell(leaf, member[name]))


def _count_line(itself: Spot) -> Line:
    leaf = itself.leaf
    return Line((join(itself.tokens),), f"{leaf.title}: how many", leaf.description, "", leaf.allowed, ())


def _name(tokens: tuple[str, ...], settings: Settings) -> str:
    """Return the number of a member, and what the record calls it."""
    number = str(int(tokens[-1]) + 1)
    member = value_at(settings, tokens) or {}
    called = next((member[key] for key in _NAMES if key in member), "")
    return f"{number}: {called}" if called else number


_NAMES = ("name", "host", "address", "group", "algorithm")


def _lines(row: Sequence[Spot], depth: int, settings: Settings) -> list[Line]:
    """Return the lines of one setting of all members, none if it is known of each."""
    places = [() if is_known(spot, settings) else spot.tokens for spot in row]
    if not any(places):
        return []
    leaf = row[0].leaf
    if leaf.kind != "secret":
        return [_line(leaf, [join(place) for place in places], depth)]
    return [
        _line(part, [join((*place, *part.tokens[-2:])) if place else "" for place in places], depth)
        for part in sealed_parts(leaf)
    ]


def _line(leaf: Leaf, pointers: Sequence[str], depth: int) -> Line:
    title = ": ".join([*leaf.titles[depth:], leaf.title])
    allowed = leaf.allowed + (_EMPTY_SECRET if leaf.tokens[-2:] == _LENGTH else "")
    return Line(tuple(pointers), title, as_question(leaf), leaf.unit, allowed, _ticks(leaf, len(pointers)))


_LENGTH = ("sealed", "length")


def _ticks(leaf: Leaf, columns: int) -> tuple[str, ...]:
    if leaf.kind == "boolean":
        return ("yes",) if "const" in leaf.node else ("yes", "no")
    return leaf.values if columns == 1 and len(leaf.values) <= MOST_TICKS else ()
