"""Where the marks of cards lie: one file a card in one folder. Reads bytes, and judges none."""

from pathlib import Path

from auditor.errors import Fault, InputError, RecordError
from auditor.intake.folder import is_folder, unreadable

_ENDING = ".json"


def refuse_no_folder(folder: str) -> None:
    """Refuse marks that lie nowhere: a wrong path is no lack of approval.

    Raises:
        InputError: if there is no such folder.
    """
    if not is_folder(folder):
        remedy = "Name the folder with --marks, or mark cards first: witnessmark mark RECORD --by NAME."
        raise InputError([Fault(folder, "", 0, 0, "no such folder of marks", remedy)])


def mark_path(folder: str, card_id: str) -> Path:
    """Return the file of a card's mark; an id has no stroke and no leading full stop."""
    return Path(folder, f"{card_id}{_ENDING}")


def mark_text(folder: str, card_id: str) -> bytes | None:
    """Return the text of a card's mark, or None where there is none.

    Raises:
        RecordError: if it is there and can't be read.
    """
    path = mark_path(folder, card_id)
    try:
        return path.read_bytes()
    except FileNotFoundError:
        return None
    except OSError as error:
        raise RecordError([unreadable(str(path), error)]) from error


def marked_cards(folder: str) -> tuple[str, ...]:
    """Return the ids of the cards that have a mark in a folder, sorted; none where there is no folder."""
    try:
        return tuple(sorted(path.name.removesuffix(_ENDING) for path in Path(folder).glob(f"*{_ENDING}")))
    except OSError:
        return ()
