"""The filled-in worksheet, as CSV → settings of one card. Takes no secret: a worksheet holds none."""

import re
from collections.abc import Iterable, Iterator

from auditor.dataclass import dataclass, replace
from auditor.errors import Fault, InputError
from auditor.intake.csv_cells import Row, read_rows
from auditor.intake.filling import Cell, Tokens, fill
from auditor.intake.imported import Imported, Origin, id_from_name
from auditor.record.expected import quoted
from auditor.record.nearest import nearest
from auditor.record.outline import ANY, Leaf, leaf_at, outline, sealed_parts
from auditor.record.pointer import join, split

METHOD = "by_hand"
POINTER, ANSWER = "pointer", "answer"

MOST_FAULTS = 100
"""Faults of one worksheet that are told; our own figure."""

MOST_SEARCHES = 20
"""Unknown pointers for which the nearest one is looked for, which is slow; our own figure."""

_LONGEST_POINTER = 256  # longer than any pointer of a setting; bounds the search for the nearest
_LENGTH = ("sealed", "length")


@dataclass(frozen=True, slots=True)
class _Columns:
    """Where pointer and answer stand in a row, and how many cells a row has."""

    pointer: int
    answer: int
    count: int


def read_worksheet_answers(text: bytes, file: str) -> tuple[Imported, ...]:
    """Return the settings that the answers of one worksheet state; an empty answer is unknown.

    Raises:
        InputError: with every fault of the worksheet, in file order; more than ``MOST_FAULTS``
            are not told.
    """
    rows = read_rows(text, file)
    columns = _columns(next(rows), file)
    cells: list[Cell] = []
    faults: list[Fault] = []
    for row in rows:
        cell = _cell(row, columns, file, search=len(faults) < MOST_SEARCHES)
        if isinstance(cell, Fault):
            faults.append(cell)
        elif cell:
            cells.append(cell)
        if len(faults) > MOST_FAULTS:
            break
    faults += _doubled(cells)
    filled = fill(_with_empty_secrets(cells))
    faults += filled.faults
    if faults:
        raise InputError(_in_order(faults, file))
    origins = {_whole(pointer): origin for pointer, origin in filled.origins.items()}
    card_id = str(filled.settings.get("card", {}).get("id", id_from_name(file)))
    return (Imported(card_id, filled.settings, file, METHOD, origins, filled.lost),)


def _in_order(faults: Iterable[Fault], file: str) -> list[Fault]:
    found = sorted(faults, key=lambda fault: fault.line)
    if len(found) > MOST_FAULTS:
        more = Fault(
            file, "", 0, 0, f"more than {MOST_FAULTS} faults", "Mend these first: the rest is not told."
        )
        return [*found[:MOST_FAULTS], more]
    return found


def _columns(header: Row, file: str) -> _Columns:
    names = [cell.strip() for cell in header.cells]
    for name in (POINTER, ANSWER):
        if names.count(name) != 1:
            found = "no column" if name not in names else "two columns"
            remedy = "Keep the first row of the worksheet as it was printed."
            raise InputError([Fault(file, "", header.line, 0, f"{found} {name}", remedy)])
    return _Columns(names.index(POINTER), names.index(ANSWER), len(names))


def _cell(row: Row, columns: _Columns, file: str, *, search: bool) -> Cell | Fault | None:
    """Return the answered cell of a row, its fault, or None if it is not answered."""
    if len(row.cells) < columns.count or any(cell.strip() for cell in row.cells[columns.count :]):
        problem = f"the row has {len(row.cells)} cells; the first row has {columns.count}"
        return Fault(file, "", row.line, 0, problem, "Look for a separator too many or too few.")
    pointer, answer = row.cells[columns.pointer].strip(), row.cells[columns.answer]
    tokens, leaf = _place(pointer)
    if leaf is None:
        return Fault(
            file, "", row.line, 0, f"no setting stands at {quoted(pointer)}", _remedy(pointer, search=search)
        )
    if not answer.strip():
        return None
    if leaf.kind == "secret":
        remedy = f"Take it away, and answer {pointer}/sealed/length with the number of characters."
        return Fault(file, pointer, row.line, 0, "a worksheet takes no secret", remedy)
    return Cell(tokens, leaf, answer, Origin(file, row.line, pointer))


def _place(pointer: str) -> tuple[Tokens, Leaf | None]:
    if len(pointer) > _LONGEST_POINTER:
        return (), None
    try:
        tokens = split(pointer)
    except ValueError:
        return (), None
    pattern = tuple(ANY if _is_index(token) else token for token in tokens)
    leaf = leaf_at(pattern)
    if leaf is None:
        secret = leaf_at(pattern[:-2])
        parts = sealed_parts(secret) if secret and secret.kind == "secret" else ()
        leaf = next((part for part in parts if part.tokens == pattern), None)
    return tokens, leaf


def _is_index(token: str) -> bool:
    return _INDEX.fullmatch(token) is not None


_INDEX = re.compile("0|[1-9][0-9]{0,3}")  # a list has at most ten thousand members


def _remedy(pointer: str, *, search: bool) -> str:
    known = (join("0" if token == ANY else token for token in leaf.tokens) for leaf in outline())
    return nearest(pointer[:_LONGEST_POINTER], known) if search else "Keep the pointers as they were printed."


def _doubled(cells: Iterable[Cell]) -> Iterator[Fault]:
    first: dict[Tokens, int] = {}
    for cell in cells:
        at = cell.origin
        if cell.tokens in first:
            problem = f"this setting is answered already, on line {first[cell.tokens]}"
            yield Fault(at.file, at.at, at.line, 0, problem, "Keep one of the two answers.")
        first.setdefault(cell.tokens, at.line)


def _with_empty_secrets(cells: Iterable[Cell]) -> list[Cell]:
    """Turn a secret of no characters into the empty secret, which stands in no list of words."""
    known = list(cells)
    empty = {cell.tokens[:-2] for cell in known if cell.tokens[-2:] == _LENGTH and cell.text.strip() == "0"}
    kept = [
        _emptied(cell) if cell.tokens[:-2] in empty and cell.tokens[-2:] == _LENGTH else cell
        for cell in known
    ]
    return [cell for cell in kept if cell.tokens[:-2] not in empty]


def _emptied(cell: Cell) -> Cell:
    tokens = cell.tokens[:-2]
    leaf = leaf_at(tuple(ANY if token.isdecimal() else token for token in tokens))
    return replace(cell, tokens=tokens, leaf=leaf or cell.leaf, text="empty")


def _whole(pointer: str) -> str:
    return pointer.partition("/sealed/")[0]
