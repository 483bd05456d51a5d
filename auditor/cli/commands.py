"""The commands that there are, each made when it is asked for.

Whoever calls one command waits for the modules of that one; help and completion make them all.
"""

from collections import UserDict
from importlib import import_module
from typing import Any, Final

import typer
from typer.core import TyperGroup

_PLACES: Final = {
    "audit": ("audit", "audit", "Audit cards: what departs from the rules, worst first."),
    "sweep": ("sweep", "sweep", "Audit an estate, and append the result to its history."),
    "gate": ("gate", "gate", "Decide on a change of settings: release, or hold and why."),
    "mark": ("mark", "mark", "Keep the settings of cards as somebody approved them."),
    "drift": ("drift", "drift", "Say what moved since cards were marked, and what it changes."),
    "import": ("import_", "import_settings", "Make records of exports, captures, sheets and worksheets."),
    "capture": ("capture", "capture", "Ask for the settings of one card, question by question."),
    "worksheet": ("worksheet", "worksheet", "Print the form of what must be read off a card by hand."),
    "procedure": ("procedure", "procedure", "Plan a visit: what to mend, in which order, step by step."),
    "handover": ("handover", "handover", "Write the papers of a visit: to print, to follow, to sign."),
    "seal": ("seal", "seal", "Replace clear secrets by what the rules need to know of them."),
    "history": ("history", "app", "Tell what sweeps say together: trend, new, mended, overdue."),
    "map": ("map_", "app", "Check or draft a map of your own export."),
    "rules": ("rules", "app", "List the rules, explain one, or check a file of your own."),
}
"""By the name of a command, in the order of help: its module here, what it is there, its line of help."""


class Commands(TyperGroup):
    """The commands of ``witnessmark``; ``commands`` gives each by its name."""

    def __init__(self, **given: Any) -> None:  # noqa: ANN401 - what typer gives a group
        """Make the group, and none of its commands."""
        super().__init__(**given)
        self.commands = _Made(dict.fromkeys(_PLACES))

    def list_commands(self, _: object) -> list[str]:
        """Return the names of the commands, without making any."""
        return list(self.commands)


class _Made(UserDict[str, Any]):
    """Commands by name; None until somebody asks for one."""

    def __getitem__(self, name: str) -> Any:  # noqa: ANN401 - typer names no class of its commands
        made = super().__getitem__(name)
        if made is None:
            made = self[name] = _command(name)
        return made


def _command(name: str) -> Any:  # noqa: ANN401 - as above
    """Import what stands in the table, a function or several commands under one name, and make it."""
    module, attribute, line = _PLACES[name]
    found = getattr(import_module(f"auditor.cli.{module}"), attribute)
    around = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)
    around.callback()(_nothing)  # with it even a single command has a name
    if isinstance(found, typer.Typer):
        around.add_typer(found, name=name)
    else:
        around.command(name)(found)
    group: Any = typer.main.get_command(around)
    made = group.commands[name]
    made.short_help = line  # the first sentence of its help may be longer than a line
    return made


def _nothing() -> None:
    pass
