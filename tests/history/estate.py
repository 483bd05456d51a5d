"""Small estates on disk, and sweeps over them, for the tests of history."""

import json
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

from typer.testing import CliRunner, Result

from auditor.cli.main import app
from auditor.history.card_result import CardResult
from auditor.history.reading import Results, stored_sweeps
from auditor.history.store import open_to_read
from auditor.history.sweep import Sweep
from tests.record.mutations import compliant

RULES: Final = Path(__file__).parent / "small.toml"
"""A ruleset that loads in no time."""

Change = Callable[[dict[str, Any]], None]


def telnet_on(card: dict[str, Any]) -> None:
    """Make a defect: clear text to the card."""
    card["services"]["telnet"]["enabled"] = True


def write_cards(folder: Path, **changes: Change | None) -> Path:
    """Write compliant cards, changed as asked, one a file; others of the folder go."""
    folder.mkdir(exist_ok=True)
    for old in folder.glob("*.json"):
        old.unlink()
    for name, change in changes.items():
        card = compliant()
        card["card"]["id"] = name
        if change:
            change(card)
        (folder / f"{name}.json").write_text(json.dumps(card), "utf-8")
    return folder


def run(*arguments: object) -> Result:
    """Run the command line in this process."""
    return CliRunner().invoke(app, [str(each) for each in arguments])


def sweep(store: Path, paths: Path, day: str, *more: object) -> Result:
    """Sweep as of a day."""
    return run("sweep", paths, "--store", store, "--as-of", day, *more)


def sweeps_in(store: Path) -> list[tuple[Sweep, dict[str, CardResult]]]:
    """Return every sweep of a store with its cards."""
    with open_to_read(str(store)) as connection:
        results = Results(connection)
        return [
            (held.sweep, {result.card: result for result in results.of(held.number)})
            for held in stored_sweeps(connection)
        ]
