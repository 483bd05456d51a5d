"""The commands that there are, each made when it is asked for.

Whoever calls one command waits for the modules of that one; help and completion make them all.
"""

from collections import UserDict
from importlib import import_module
from typing import Any, Final

import typer
from typer.core import TyperGroup

_PLACES: Final = {
    "audit": ("audit", "audit"),
    "sweep": ("sweep", "sweep"),
    "gate": ("gate", "gate"),
    "mark": ("mark", "mark"),
    "drift": ("drift", "drift"),
    "import": ("import_", "import_settings"),
    "capture": ("capture", "capture"),
    "worksheet": ("worksheet", "worksheet"),
    "procedure": ("procedure", "procedure"),
    "handover": ("handover", "handover"),
    "seal": ("seal", "seal"),
    "history": ("history", "app"),
    "map": ("map_", "app"),
    "rules": ("rules", "app"),
}
"""By the name of a command, in the order of help: its module beside this one, and what it is there."""


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
    module, attribute = _PLACES[name]
    found = getattr(import_module(f"auditor.cli.{module}"), attribute)
    around = typer.Typer(add_completion=False, pretty_exceptions_enable=False, rich_markup_mode=None)
    around.callback()(_nothing)  # with it even a single command has a name
    if isinstance(found, typer.Typer):
        around.add_typer(found, name=name)
    else:
        around.command(name)(found)
    group: Any = typer.main.get_command(around)
    return group.commands[name]


def _nothing() -> None:
    pass
