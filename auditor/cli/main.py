"""The command ``witnessmark``: what all its commands have in common."""

import gc
from typing import Annotated

import typer

from auditor.cli.commands import Commands
from auditor.cli.garbage import collected_seldom
from auditor.version import VERSION

app = typer.Typer(
    name="witnessmark",
    cls=Commands,
    help="Audit the settings of network management cards in power equipment, offline.",
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


def _print_version(asked: bool) -> None:  # noqa: FBT001 - typer's shape of a callback
    if asked:
        typer.echo(f"witnessmark {VERSION}")
        raise typer.Exit


@app.callback()
def _main(
    version: Annotated[
        bool,
        typer.Option("--version", help="Print the version and stop.", callback=_print_version, is_eager=True),
    ] = False,
) -> None:
    pass


def run() -> None:
    """Run the command line and exit.

    Python looks for garbage seldom, for a start makes what stays: modules and rules; and not at the
    end, for all memory goes back with the process.
    """
    try:
        with collected_seldom():
            app()
    finally:
        gc.disable()
