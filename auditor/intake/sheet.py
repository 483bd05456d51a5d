"""The sheet: settings that a site keeps in a spreadsheet, as CSV with one row a card.

A column is named by the setting's place, with dots: ``services.telnet.enabled``; members of a
list have numbers from 1: ``accounts.1.name``. An empty cell is unknown. ``dictionary`` says what
a cell of each column may hold. A column whose name begins with ``#`` is the site's own.

What a sheet can't hold: an object of which nothing is known, outside a list; it says nothing.
"""

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from functools import cache

from auditor.dataclass import dataclass
from auditor.errors import Fault, InputError
from auditor.intake.csv_cells import LONGEST_CELL, Row, read_rows, written
from auditor.intake.filling import Cell, Tokens, cells_of, fill
from auditor.intake.imported import Imported, Origin
from auditor.record.cell import says_none
from auditor.record.expected import quoted
from auditor.record.limits import DEFAULT
from auditor.record.nearest import nearest
from auditor.record.outline import ANY, Leaf, leaf_at, outline
from auditor.record.pointer import join
from auditor.record.settings import Settings

METHOD = "sheet"
ID_COLUMN = "card.id"
OWN = "#"
"""The first character of the name of a column that is none of ours."""

MOST_FAULTS = 100
"""Faults of one sheet that are told; our own figure, to bound what a hostile sheet costs."""

MOST_SEARCHES = 20
"""Unknown columns for which the nearest name is looked for, which is slow; our own figure."""

_LONGEST_NAME = 128  # longer than any name of a column; bounds the search for the nearest


@dataclass(frozen=True, slots=True)
class Entry:
    """What the dictionary says of one column."""

    column: str
    title: str
    description: str
    allowed: str


@dataclass(frozen=True, slots=True)
class _Column:
    """A column of the sheet; ``leaf`` is None if it is the site's own, or has no name."""

    name: str
    tokens: Tokens
    leaf: Leaf | None


def template() -> str:
    """Return the empty sheet: the header alone, with the first member of every list."""
    return written([[column_name(_first(leaf.tokens)) for leaf in outline()]])


def dictionary() -> tuple[Entry, ...]:
    """Return what each column of the template is called, means and allows, in its order."""
    return tuple(
        Entry(column_name(_first(leaf.tokens)), _titles(leaf), leaf.description, _allowed(leaf))
        for leaf in outline()
    )


def column_name(tokens: Sequence[str]) -> str:
    """Return the name of the column of a place; its list indexes count from 0."""
    return ".".join(str(int(token) + 1) if token.isdecimal() else token for token in tokens)


def read_sheet(text: bytes, file: str) -> tuple[Imported, ...]:
    """Return the settings of every card of a sheet, in the order of its rows.

    Raises:
        InputError: with every fault of the sheet, in file order; more than ``MOST_FAULTS``
            are not told.
    """
    rows = read_rows(text, file)
    header = next(rows)
    columns = _columns(header, file)
    faults: list[Fault] = []
    found: list[Imported] = []
    first: dict[str, int] = {}
    for row in rows:
        result = _card(row, columns, file, first)
        if isinstance(result, Imported):
            found.append(result)
        else:
            faults += result
        if len(faults) >= MOST_FAULTS:
            break
    if not (found or faults):
        faults.append(Fault(file, "", 0, 0, "no row but the header", "Write one row for each card."))
    _refuse_all(faults, file)
    return tuple(found)


def write_sheet(records: Sequence[Settings]) -> str:
    """Return the sheet of records, with the columns that any of them needs.

    Raises:
        InputError: if a cell would be too long, or would hold a NUL, which CSV does not take.
    """
    rows = [{tokens: text for tokens, _, text in cells_of(record)} for record in records]
    faults = [
        _unwritable(record, tokens) for record, row in zip(records, rows, strict=True) for tokens in _odd(row)
    ]
    _refuse_all(faults, "sheet")
    places = sorted({tokens for row in rows for tokens in row} | {("card", "id")}, key=_rank)
    return written(
        [[column_name(tokens) for tokens in places], *([row.get(at, "") for at in places] for row in rows)]
    )


def _odd(row: Mapping[Tokens, str]) -> Iterator[Tokens]:
    # One character goes to the apostrophe that may come before.
    return (tokens for tokens, text in row.items() if len(text) >= LONGEST_CELL or "\0" in text)


def _unwritable(record: Settings, tokens: Tokens) -> Fault:
    problem = f"of card {record['card']['id']}: too long for a cell, or with a NUL character"
    return Fault(
        "sheet", join(tokens), 0, 0, problem, "Keep the record of this card as it is, in its own file."
    )


def _refuse_all(faults: Sequence[Fault], file: str) -> None:
    if len(faults) > MOST_FAULTS:
        more = Fault(
            file, "", 0, 0, f"more than {MOST_FAULTS} faults", "Mend these first: the rest is not told."
        )
        raise InputError([*faults[:MOST_FAULTS], more])
    if faults:
        raise InputError(faults)


def _first(tokens: Sequence[str]) -> Tokens:
    return tuple("0" if token == ANY else token for token in tokens)


def _titles(leaf: Leaf) -> str:
    return ": ".join([*leaf.titles, leaf.title])


def _allowed(leaf: Leaf) -> str:
    if leaf.kind == "secret":
        return "clear: and the secret itself, crypt: and a hash, localized: and a key, or empty"
    if leaf.kind == "members":
        return "none, or empty; how many there are, where of one nothing is known"
    if leaf.kind == "words":
        return leaf.allowed.replace("none", says_none(leaf), 1)
    return leaf.allowed


@cache
def _ranks() -> Mapping[tuple[str, ...], int]:
    """Return the first place in the outline of every setting and of what encloses it."""
    ranks: dict[tuple[str, ...], int] = {}
    for number, leaf in enumerate(outline()):
        for size in range(1, len(leaf.tokens) + 1):
            ranks.setdefault(leaf.tokens[:size], number)
    return ranks


def _rank(tokens: Tokens) -> tuple[int, ...]:
    pattern = _pattern(tokens)
    steps = enumerate(tokens, start=1)
    return tuple(int(token) if token.isdecimal() else _ranks()[pattern[:size]] for size, token in steps)


def _pattern(tokens: Sequence[str]) -> Tokens:
    return tuple(ANY if token.isdecimal() else token for token in tokens)


def _columns(header: Row, file: str) -> list[_Column]:
    """Return the columns that a header names.

    Raises:
        InputError: for names that no setting has, names that stand twice, and a missing id.
    """
    columns = [_column(cell.strip()) for cell in header.cells]
    ours = [column for column in columns if column.name and not column.name.startswith(OWN)]
    unknown = [column.name for column in ours if not column.leaf][: MOST_FAULTS + 1]
    faults = [_unknown(name, header.line, file, search=at < MOST_SEARCHES) for at, name in enumerate(unknown)]
    faults += [
        Fault(file, "", header.line, 0, f"column {quoted(name)} stands {count} times", "Keep one of them.")
        for name, count in Counter(column.name for column in ours).items()
        if count > 1
    ]
    if not any(column.name == ID_COLUMN for column in ours):
        faults.append(Fault(file, "/card/id", header.line, 0, f"no column {ID_COLUMN}", _FIRST_ROW))
    _refuse_all(faults, file)
    return columns


_FIRST_ROW = "The first row names the columns; the empty sheet shows how."


def _column(name: str) -> _Column:
    parts = name.split(".")
    if len(name) > _LONGEST_NAME or any(part.isdecimal() and not _is_number(part) for part in parts):
        return _Column(name, (), None)
    tokens = tuple(str(int(part) - 1) if part.isdecimal() else part for part in parts)
    return _Column(name, tokens, leaf_at(_pattern(tokens)))


def _is_number(part: str) -> bool:
    """Tell whether a part of a name is the number of a member, from 1, without zeros before it."""
    return bool(_NUMBER.fullmatch(part)) and int(part) <= DEFAULT.items


_NUMBER = re.compile("[1-9][0-9]{0,4}")


def _unknown(name: str, line: int, file: str, *, search: bool) -> Fault:
    known = (column_name(_first(leaf.tokens)) for leaf in outline())
    remedy = nearest(name[:_LONGEST_NAME], known) if search else "The empty sheet names every column."
    own = f"A column of your own begins with {OWN}."
    return Fault(file, "", line, 0, f"no setting is named {quoted(name)}", f"{remedy} {own}")


def _card(row: Row, columns: Sequence[_Column], file: str, first: dict[str, int]) -> Imported | list[Fault]:
    """Return what a row says of its card, or its faults; note the card's line in ``first``."""
    faults = _shape_faults(row, columns, file)
    if faults:
        return faults
    filled = fill(_cells(row, columns, file))
    if filled.faults:
        return list(filled.faults)
    card_id = filled.settings.get("card", {}).get("id")
    if card_id is None:
        return [
            Fault(file, "/card/id", row.line, 0, f"column {ID_COLUMN} is empty", "Write the id of the card.")
        ]
    if card_id in first:
        problem = f"card {quoted(card_id)} has a row already, on line {first[card_id]}"
        return [Fault(file, "/card/id", row.line, 0, problem, "Keep one row for each card.")]
    first[card_id] = row.line
    return Imported(card_id, filled.settings, file, METHOD, filled.origins, filled.lost)


def _cells(row: Row, columns: Sequence[_Column], file: str) -> Iterator[Cell]:
    for column, text in zip(columns, row.cells, strict=False):
        if column.leaf and text.strip():
            yield Cell(column.tokens, column.leaf, text, Origin(file, row.line, f"column {column.name}"))


def _shape_faults(row: Row, columns: Sequence[_Column], file: str) -> list[Fault]:
    names = [column.name for column in columns]
    names += [""] * (len(row.cells) - len(names))
    if len(row.cells) < len(columns):
        problem = f"the row has {len(row.cells)} cells; the first row has {len(columns)}"
        return [Fault(file, "", row.line, 0, problem, _COUNT)]
    nameless = next(
        (at for at, cell in enumerate(row.cells, start=1) if cell.strip() and not names[at - 1]), 0
    )
    if nameless:
        return [Fault(file, "", row.line, 0, f"cell {nameless} of the row stands under no name", _COUNT)]
    return []


_COUNT = "Look for a separator too many or too few: every row has as many cells as the first."
